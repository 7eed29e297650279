//! The data that comes with the program.

use crate::{
    SheetError, Sheets,
    parse::{self, Files},
};

/// Raised with every change of a number in `data/`.
pub(crate) const fn revision() -> &'static str {
    "data-1"
}

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

pub(crate) fn load() -> Result<Sheets, SheetError> {
    parse::sheets(&Files {
        sources: data!("sources.toml"),
        interfaces: INTERFACES,
        pairs: data!("pairs.toml"),
        policy: data!("policy.toml"),
        cautions: data!("cautions.toml"),
        procedures: data!("procedures.toml"),
    })
}
