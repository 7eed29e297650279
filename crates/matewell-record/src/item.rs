//! Items and ends as JSON.

use crate::{LengthJson, RecordError, quantity::finite, text};
use matewell_lab::{
    Body, Cost, End, EndId, GaugeMethod, GaugeSpec, Grade, Item, ItemId, ItemKind, Sex, Slots, WrenchSpec,
};
use matewell_quantity::Torque;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A physical thing with an identity.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ItemJson {
    /// For ever the same.
    #[serde(with = "text::id")]
    #[schema(value_type = String, format = "uuid")]
    pub id: ItemId,
    /// What people call it.
    pub tag: String,
    /// What it is: a word such as `cable` or `gauge`.
    pub kind: String,
    /// In the lab's words.
    pub description: String,
    /// Type designation.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub model: Option<String>,
    /// Serial number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// Usual place.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub location: Option<String>,
    /// Replacement cost.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cost: Option<CostJson>,
    /// For gauges.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<GaugeSpecJson>,
    /// For torque wrenches.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wrench: Option<WrenchSpecJson>,
    /// Columns of an import that have no field here.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub extra: Vec<ExtraJson>,
}

/// What the lab would pay for a new one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CostJson {
    /// Amount in hundredths of the currency.
    pub hundredths: i64,
    /// ISO 4217 code.
    pub currency: String,
}

/// What a gauge can do.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GaugeSpecJson {
    /// Sheet key of the interface it gauges.
    pub interface: String,
    /// How it meets the connector: a word such as `screw-on`.
    pub method: String,
    /// Standard uncertainty shared by all its readings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub standard_uncertainty: Option<LengthJson>,
    /// Pooled standard deviation of one re-seated reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeatability: Option<LengthJson>,
    /// Degrees of freedom behind the repeatability.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeatability_dof: Option<f64>,
    /// Smallest step it shows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resolution: Option<LengthJson>,
    /// Tag of the master it is zeroed on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub master: Option<String>,
}

/// What a torque wrench is set to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WrenchSpecJson {
    /// Torque at which it breaks, newton metres.
    pub set_point_n_m: f64,
    /// Permissible relative deviation, for example 0.06.
    pub tolerance: f64,
}

/// A column of an import that has no field here.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ExtraJson {
    /// Heading of the column.
    pub name: String,
    /// What the cell said.
    pub text: String,
}

/// One coaxial interface of an item.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EndJson {
    /// For ever the same.
    #[serde(with = "text::id")]
    #[schema(value_type = String, format = "uuid")]
    pub id: EndId,
    /// The item it belongs to.
    #[serde(with = "text::id")]
    #[schema(value_type = String, format = "uuid")]
    pub item: ItemId,
    /// What its label says.
    pub tag: String,
    /// Sheet key of the interface, for example `3.5mm`.
    pub interface: String,
    /// `pin`, `socket` or `neutral`.
    pub sex: String,
    /// How tightly it is held: a word such as `metrology`.
    pub grade: String,
    /// What it is made of: a word such as `stainless`.
    pub body: String,
    /// For sockets: `slotted`, `slotless` or `unknown`.
    pub slots: String,
    /// Device behind it is destroyed by electrostatic discharge.
    #[serde(default)]
    pub static_sensitive: bool,
    /// It can carry radio-frequency power.
    #[serde(default)]
    pub rf_live: bool,
    /// It can carry a bias voltage.
    #[serde(default)]
    pub biased: bool,
    /// Columns of an import that have no field here.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub extra: Vec<ExtraJson>,
}

impl ItemJson {
    /// The written form of an item.
    ///
    /// # Errors
    ///
    /// [`RecordError::NotFinite`] for a number JSON cannot write.
    pub fn of(item: &Item) -> Result<Self, RecordError> {
        Ok(Self {
            id: item.id,
            tag: item.tag.clone(),
            kind: item.kind.word().to_owned(),
            description: item.description.clone(),
            model: item.model.clone(),
            serial: item.serial.clone(),
            location: item.location.clone(),
            cost: item
                .cost
                .as_ref()
                .map(|c| CostJson { hundredths: c.hundredths, currency: c.currency.clone() }),
            gauge: item.gauge.as_ref().map(gauge_json).transpose()?,
            wrench: item.wrench.as_ref().map(wrench_json).transpose()?,
            extra: extra_json(&item.extra),
        })
    }

    /// The item.
    ///
    /// # Errors
    ///
    /// [`RecordError::Lab`] for an unknown word, [`RecordError::Quantity`].
    pub fn item(self) -> Result<Item, RecordError> {
        Ok(Item {
            id: self.id,
            tag: self.tag,
            kind: ItemKind::from_word(&self.kind)?,
            description: self.description,
            model: self.model,
            serial: self.serial,
            location: self.location,
            cost: self.cost.map(|c| Cost { hundredths: c.hundredths, currency: c.currency }),
            gauge: self.gauge.map(gauge_spec).transpose()?,
            wrench: self.wrench.as_ref().map(wrench_spec).transpose()?,
            extra: extra(self.extra),
        })
    }
}

impl EndJson {
    /// The written form of an end.
    #[must_use]
    pub fn of(end: &End) -> Self {
        Self {
            id: end.id,
            item: end.item,
            tag: end.tag.clone(),
            interface: end.interface.clone(),
            sex: end.sex.word().to_owned(),
            grade: end.grade.word().to_owned(),
            body: end.body.word().to_owned(),
            slots: end.slots.word().to_owned(),
            static_sensitive: end.static_sensitive,
            rf_live: end.rf_live,
            biased: end.biased,
            extra: extra_json(&end.extra),
        }
    }

    /// The end.
    ///
    /// # Errors
    ///
    /// [`RecordError::Lab`] for an unknown word.
    pub fn end(self) -> Result<End, RecordError> {
        Ok(End {
            id: self.id,
            item: self.item,
            tag: self.tag,
            interface: self.interface,
            sex: Sex::from_word(&self.sex)?,
            grade: Grade::from_word(&self.grade)?,
            body: Body::from_word(&self.body)?,
            slots: Slots::from_word(&self.slots)?,
            static_sensitive: self.static_sensitive,
            rf_live: self.rf_live,
            biased: self.biased,
            extra: extra(self.extra),
        })
    }
}

fn gauge_json(gauge: &GaugeSpec) -> Result<GaugeSpecJson, RecordError> {
    Ok(GaugeSpecJson {
        interface: gauge.interface.clone(),
        method: gauge.method.word().to_owned(),
        standard_uncertainty: LengthJson::of_option(gauge.standard_uncertainty)?,
        repeatability: LengthJson::of_option(gauge.repeatability)?,
        repeatability_dof: gauge.repeatability_dof.map(|dof| finite("repeatability_dof", dof)).transpose()?,
        resolution: LengthJson::of_option(gauge.resolution)?,
        master: gauge.master.clone(),
    })
}

fn gauge_spec(json: GaugeSpecJson) -> Result<GaugeSpec, RecordError> {
    Ok(GaugeSpec {
        interface: json.interface,
        method: GaugeMethod::from_word(&json.method)?,
        standard_uncertainty: LengthJson::length_option(json.standard_uncertainty)?,
        repeatability: LengthJson::length_option(json.repeatability)?,
        repeatability_dof: json.repeatability_dof,
        resolution: LengthJson::length_option(json.resolution)?,
        master: json.master,
    })
}

fn wrench_json(wrench: &WrenchSpec) -> Result<WrenchSpecJson, RecordError> {
    Ok(WrenchSpecJson {
        set_point_n_m: wrench.set_point.newton_metres(),
        tolerance: finite("tolerance", wrench.tolerance)?,
    })
}

fn wrench_spec(json: &WrenchSpecJson) -> Result<WrenchSpec, RecordError> {
    Ok(WrenchSpec { set_point: Torque::from_newton_metres(json.set_point_n_m)?, tolerance: json.tolerance })
}

fn extra_json(extra: &[(String, String)]) -> Vec<ExtraJson> {
    extra.iter().map(|(name, text)| ExtraJson { name: name.clone(), text: text.clone() }).collect()
}

fn extra(json: Vec<ExtraJson>) -> Vec<(String, String)> {
    json.into_iter().map(|column| (column.name, column.text)).collect()
}
