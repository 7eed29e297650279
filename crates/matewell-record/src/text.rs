//! Ids as JSON text.

/// One id.
pub(crate) mod id {
    use matewell_lab::{EndId, FactId, ItemId, LabError, MachineId};
    use serde::{Deserialize as _, Deserializer, Serializer, de::Error as _};
    use std::str::FromStr;

    /// What the ids of all kinds have in common.
    pub(crate) trait Id: FromStr<Err = LabError> {
        fn sixteen(&self) -> &[u8; 16];
    }

    macro_rules! ids {
        ($($name:ident),+) => {
            $(impl Id for $name {
                fn sixteen(&self) -> &[u8; 16] {
                    self.bytes()
                }
            })+
        };
    }
    ids!(EndId, FactId, ItemId, MachineId);

    /// The text of an id without an allocation: a million mates hold two
    /// million ids.
    pub(crate) fn hyphenated(bytes: &[u8; 16]) -> [u8; 36] {
        const DIGITS: &[u8; 16] = b"0123456789abcdef";
        let mut text = [b'-'; 36];
        let places = (0..36).filter(|place| !matches!(place, 8 | 13 | 18 | 23));
        let nibbles = bytes.iter().flat_map(|byte| [byte >> 4, byte & 15]);
        for (place, nibble) in places.zip(nibbles) {
            text[place] = DIGITS[usize::from(nibble)];
        }
        text
    }

    pub(crate) fn serialize<I: Id, S: Serializer>(id: &I, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(std::str::from_utf8(&hyphenated(id.sixteen())).unwrap_or_default())
    }

    pub(crate) fn deserialize<'de, I: Id, D: Deserializer<'de>>(from: D) -> Result<I, D::Error> {
        String::deserialize(from)?.parse().map_err(D::Error::custom)
    }
}

/// An id that may be missing.
pub(crate) mod id_option {
    use super::id::{Id, serialize as serialize_id};
    use serde::{Deserialize as _, Deserializer, Serializer, de::Error as _};

    #[expect(clippy::ref_option, reason = "the signature serde asks for")]
    pub(crate) fn serialize<I: Id, S: Serializer>(id: &Option<I>, to: S) -> Result<S::Ok, S::Error> {
        match id {
            Some(id) => serialize_id(id, to),
            None => to.serialize_none(),
        }
    }

    pub(crate) fn deserialize<'de, I: Id, D: Deserializer<'de>>(from: D) -> Result<Option<I>, D::Error> {
        let text = Option::<String>::deserialize(from)?;
        text.map(|text| text.parse().map_err(D::Error::custom)).transpose()
    }
}

/// Several ids in order.
pub(crate) mod id_list {
    use super::id::Id;
    use serde::{Deserialize as _, Deserializer, Serializer, de::Error as _};

    pub(crate) fn serialize<I: Id, S: Serializer>(ids: &[I], to: S) -> Result<S::Ok, S::Error> {
        to.collect_seq(
            ids.iter().map(|id| String::from_utf8_lossy(&super::id::hyphenated(id.sixteen())).into_owned()),
        )
    }

    pub(crate) fn deserialize<'de, I: Id, D: Deserializer<'de>>(from: D) -> Result<Vec<I>, D::Error> {
        let texts = Vec::<String>::deserialize(from)?;
        texts.iter().map(|text| text.parse().map_err(D::Error::custom)).collect()
    }
}
