//! The data that comes with the program.

use crate::{
    SheetError, Sheets,
    parse::{self, Files},
};

/// Names the embedded data in stored answers. Raised with every change in
/// `data/`; a test compares the checksum and says so.
pub(crate) const REVISION: &str = "data-7";

macro_rules! data {
    ($path:literal) => {
        ($path, include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/", $path)))
    };
}

const INTERFACES: &[(&str, &str)] = &[
    data!("interfaces/1.0mm.toml"),
    data!("interfaces/1.35mm.toml"),
    data!("interfaces/1.85mm.toml"),
    data!("interfaces/2.4mm.toml"),
    data!("interfaces/2.92mm.toml"),
    data!("interfaces/3.5mm.toml"),
    data!("interfaces/7-16.toml"),
    data!("interfaces/7mm.toml"),
    data!("interfaces/bnc.toml"),
    data!("interfaces/n50.toml"),
    data!("interfaces/n75.toml"),
    data!("interfaces/sma.toml"),
    data!("interfaces/tnc.toml"),
];

pub(crate) const FILES: Files<'static> = Files {
    sources: data!("sources.toml"),
    interfaces: INTERFACES,
    pairs: data!("pairs.toml"),
    policy: data!("policy.toml"),
    cautions: data!("cautions.toml"),
    procedures: data!("procedures.toml"),
    torque_tools: data!("torque-tools.toml"),
};

pub(crate) fn load() -> Result<Sheets, SheetError> {
    parse::sheets(&FILES)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Checksum of all embedded files under [`REVISION`].
    const CHECKSUM: u64 = 0xff3d_162c_0f02_ee3c;

    #[test]
    fn changed_data_has_a_new_revision_and_a_line_in_its_change_log() {
        let texts =
            [FILES.sources, FILES.pairs, FILES.policy, FILES.cautions, FILES.procedures, FILES.torque_tools];
        let sum = texts
            .iter()
            .chain(INTERFACES)
            .flat_map(|(_, text)| text.bytes())
            .fold(parse::FNV_START, parse::fnv);
        assert_eq!(
            sum, CHECKSUM,
            "data/ changed: raise REVISION, write a line in data/CHANGELOG.md, and set CHECKSUM to {sum:#x}"
        );
        let log = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/CHANGELOG.md"));
        assert!(log.contains(&format!("## {REVISION}")), "data/CHANGELOG.md has no heading {REVISION}");
    }
}
