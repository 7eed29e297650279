//! What lies between the joints of a chain: from a description of the lab's
//! own, or from what is registered about the items.

use super::typed::{bad, network};
use crate::{AppError, Workshop};
use matewell_lab::{EndId, Item, ItemKind, Moment, end_record};
use matewell_network::{
    joints::{Chain, Joint, Section},
    transform::SPEED_OF_LIGHT,
};
use matewell_quantity::parse_number;
use serde::Deserialize;

/// Columns of a register that describe the line inside a cable or adapter.
pub const ITEM_COLUMNS: [&str; 3] = ["Line length (mm)", "Velocity factor", "Loss at 1 GHz (dB/m)"];

/// `µ₀/2π` in picohenries per micrometre.
const PH_PER_UM: f64 = 0.2;

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    #[serde(default)]
    joint: Vec<WrittenJoint>,
    #[serde(default)]
    section: Vec<WrittenSection>,
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenJoint {
    name: Option<String>,
    interface: Option<String>,
    scatter_inductance_ph: Option<f64>,
    scatter_resistance_mohm: Option<f64>,
    inductance_per_gap_ph_per_um: Option<f64>,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenSection {
    name: Option<String>,
    length_mm: f64,
    length_uncertainty_mm: Option<f64>,
    velocity_factor: f64,
    loss_db_per_m_at_1_ghz: f64,
    flexible: bool,
}

/// A chain as the fit needs it, and what its parts are called.
pub(super) struct Layout {
    pub(super) chain: Chain,
    /// Ends of each joint; empty when they are not on record.
    pub(super) ends: Vec<Vec<EndId>>,
    pub(super) section_names: Vec<String>,
    pub(super) from: String,
}

impl Layout {
    /// Round-trip time of each joint, in seconds.
    pub(super) fn round_trips(&self) -> Vec<f64> {
        let mut at = 0.0;
        let mut all = vec![0.0];
        for section in self.chain.sections() {
            at += 2.0 * section.length / (section.velocity_factor * SPEED_OF_LIGHT);
            all.push(at);
        }
        all
    }

    /// One-way distance along the line at a round-trip time.
    pub(super) fn distance(&self, time: f64) -> f64 {
        let (mut left, mut distance) = (time, 0.0);
        let mut speed = SPEED_OF_LIGHT;
        for (k, section) in self.chain.sections().iter().enumerate() {
            speed = section.velocity_factor * SPEED_OF_LIGHT;
            let passes = 2.0 * section.length / speed;
            if left <= passes && k + 1 < self.chain.joints().len() {
                return distance + left * speed / 2.0;
            }
            left -= passes;
            distance += section.length;
        }
        distance + left * speed / 2.0
    }
}

impl Workshop {
    /// The layout from a description, else from the registered items.
    ///
    /// # Errors
    ///
    /// A description that cannot be read or that has another number of joints
    /// than the ends; items that do not say what their line is like.
    pub(super) fn layout(&self, written: Option<(&str, &str)>, ends: &[EndId]) -> Result<Layout, AppError> {
        let (written, from) = match written {
            Some((text, from)) => {
                let written: Written =
                    toml::from_str(text).map_err(|e| bad("layout")(first_lines(&e.to_string())))?;
                (written, from.to_owned())
            }
            None if ends.is_empty() => {
                return Err(bad("layout")(
                    "expected a description of what lies between the joints (TOML), or the ends of a registered chain; found neither",
                ));
            }
            None => (
                Written { joint: Vec::new(), section: self.registered_sections(ends)? },
                "registered items".to_owned(),
            ),
        };
        let count = if written.joint.is_empty() { written.section.len() + 1 } else { written.joint.len() };
        let of_joints: Vec<Vec<EndId>> = if ends.is_empty() {
            vec![Vec::new(); count]
        } else {
            ends.chunks(2).map(<[EndId]>::to_vec).collect()
        };
        if of_joints.len() != count {
            return Err(bad("layout")(format!(
                "expected {} joints for {} ends, two ends to a joint, found {count}",
                of_joints.len(),
                ends.len()
            )));
        }
        let mut described = written.joint;
        described.resize_with(count, WrittenJoint::default);
        let joints = described
            .iter()
            .zip(&of_joints)
            .enumerate()
            .map(|(k, (joint, ends))| self.joint(k, joint, ends))
            .collect::<Result<Vec<_>, AppError>>()?;
        let usual = self.sheets.policy().sweep_length_uncertainty.value;
        let sections = written
            .section
            .iter()
            .map(|s| Section {
                length: s.length_mm * 1e-3,
                length_uncertainty: s.length_uncertainty_mm.unwrap_or(usual) * 1e-3,
                velocity_factor: s.velocity_factor,
                loss_at_1_ghz: s.loss_db_per_m_at_1_ghz,
                flexible: s.flexible,
            })
            .collect();
        let section_names = written
            .section
            .into_iter()
            .enumerate()
            .map(|(k, s)| s.name.unwrap_or_else(|| format!("section {}", k + 1)))
            .collect();
        let chain = Chain::new(joints, sections).map_err(network("layout"))?;
        Ok(Layout { chain, ends: of_joints, section_names, from })
    }

    fn joint(&self, k: usize, written: &WrittenJoint, ends: &[EndId]) -> Result<Joint, AppError> {
        let hits = ends.iter().map(|end| self.store.end(*end)).collect::<Result<Vec<_>, _>>()?;
        let tags: Vec<&str> = hits.iter().flatten().map(|hit| hit.end_tag.as_str()).collect();
        let name = match (&written.name, tags.as_slice()) {
            (Some(name), _) => name.clone(),
            (None, []) => format!("joint {}", k + 1),
            (None, tags) => tags.join(" – "),
        };
        let interface = written
            .interface
            .as_deref()
            .or_else(|| hits.iter().flatten().next().map(|hit| hit.interface.as_str()));
        let policy = self.sheets.policy();
        Ok(Joint {
            name,
            scatter_inductance: written
                .scatter_inductance_ph
                .unwrap_or(policy.sweep_inductance_scatter.value)
                * 1e-12,
            scatter_resistance: written
                .scatter_resistance_mohm
                .unwrap_or(policy.sweep_resistance_scatter.value)
                * 1e-3,
            inductance_per_gap: written
                .inductance_per_gap_ph_per_um
                .or_else(|| interface.and_then(|key| self.inductance_per_gap(key)))
                // pH/µm is µH/m.
                .map(|per_um| per_um * 1e-6),
        })
    }

    /// `0.2 ln(d/d_pin)` pH/µm, when both diameters are known.
    fn inductance_per_gap(&self, interface: &str) -> Option<f64> {
        let key = match self.sheets.find_interface(interface) {
            matewell_sheets::Lookup::Found(key) => key,
            _ => interface.to_owned(),
        };
        let sheet = self.sheets.interface(&key)?;
        let (line, pin) = (sheet.inner_diameter.as_ref()?, sheet.pin_diameter.as_ref()?);
        Some(PH_PER_UM * (line.value / pin.value).ln()).filter(|l| *l > 0.0)
    }

    /// What the register says about the items between the joints.
    fn registered_sections(&self, ends: &[EndId]) -> Result<Vec<WrittenSection>, AppError> {
        let mut sections = Vec::new();
        for pair in ends.get(1..).unwrap_or_default().chunks_exact(2) {
            let &[a, b] = pair else { continue };
            let item = |end: EndId| -> Result<Item, AppError> {
                let facts = self.store.facts_of_end(end)?;
                end_record(end, &facts, Moment::from_microseconds(i64::MAX))
                    .map(|record| record.item)
                    .ok_or_else(|| AppError::UnknownTag { what: "an end", found: end.to_string() })
            };
            let (first, second) = (item(a)?, item(b)?);
            if first.id != second.id {
                return Err(bad("chain")(format!(
                    "expected the ends between two joints to be of one item, found {} and {}",
                    first.tag, second.tag
                )));
            }
            let [length, velocity, loss] = ITEM_COLUMNS.map(|column| column_of(&first, column));
            sections.push(WrittenSection {
                name: Some(first.tag.clone()),
                length_mm: length?,
                length_uncertainty_mm: None,
                velocity_factor: velocity?,
                loss_db_per_m_at_1_ghz: loss?,
                flexible: first.kind == ItemKind::Cable,
            });
        }
        Ok(sections)
    }
}

fn column_of(item: &Item, column: &str) -> Result<f64, AppError> {
    let found = item.extra.iter().find(|(name, _)| name.trim().eq_ignore_ascii_case(column));
    let Some((_, text)) = found else {
        return Err(bad("layout")(format!(
            "expected {} to be registered with the column \"{column}\", or a layout; found neither",
            item.tag
        )));
    };
    parse_number(text.trim()).map_err(|e| bad("layout")(format!("{}, {column}: {e}", item.tag)))
}

/// The reader's message has a picture of the place; a problem needs words.
fn first_lines(text: &str) -> String {
    let lines: Vec<&str> = text.lines().map(str::trim).filter(|l| !l.is_empty()).collect();
    lines.join(" ").chars().take(400).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::UuidV7;

    const TWO: &str = "
[[section]]
name = \"cable\"
length_mm = 620
velocity_factor = 0.7
loss_db_per_m_at_1_ghz = 0.45
flexible = true
";

    #[test]
    fn a_description_gives_places_and_refuses_what_it_does_not_know() {
        let shop = Workshop::in_memory(Box::new(UuidV7::default())).unwrap();
        let layout = shop.layout(Some((TWO, "given")), &[]).unwrap();
        assert_eq!(layout.chain.joints().len(), 2);
        // 2 · 0.62 m at 0.7 c.
        let expected = 2.0 * 0.62 / (0.7 * 299_792_458.0);
        assert!((layout.round_trips()[1] - expected).abs() < 1e-18);
        assert!((layout.distance(expected / 2.0) - 0.31).abs() < 1e-12);
        assert!((layout.distance(expected) - 0.62).abs() < 1e-12);
        for (wrong, says) in [
            ("[[section]]\nlength = 3", "unknown field"),
            ("nonsense", "TOML"),
            ("[[joint]]\nname = \"a\"", ""),
        ] {
            let found = shop.layout(Some((wrong, "given")), &[]);
            if says.is_empty() {
                assert_eq!(found.unwrap().chain.joints().len(), 1);
            } else {
                assert!(found.is_err(), "{wrong}");
            }
        }
        assert!(shop.layout(None, &[]).is_err());
        let far = TWO.replace("620", "-1");
        assert!(shop.layout(Some((&far, "given")), &[]).is_err());
    }

    #[test]
    fn the_sheet_gives_the_inductance_of_a_gap() {
        let shop = Workshop::in_memory(Box::new(UuidV7::default())).unwrap();
        // 0.2 ln(1.520/0.927) = 0.0989 pH/µm.
        let found = shop.inductance_per_gap("3.5mm").unwrap();
        assert!((found - 0.0989).abs() < 5e-5, "{found}");
        assert_eq!(shop.inductance_per_gap("no such"), None);
    }
}
