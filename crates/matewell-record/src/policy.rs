//! A policy taken up, to and from its payload.

use crate::{OwnPolicyValueJson, PolicyTakenUpJson, PolicyValueJson};
use matewell_lab::{OwnPolicyValue, PolicyTakenUp, PolicyValue};

pub(crate) fn taken_up_json(taken: &PolicyTakenUp) -> PolicyTakenUpJson {
    let values = taken.values.iter();
    let own = taken.own.iter();
    PolicyTakenUpJson {
        revision: taken.revision.clone(),
        values: values.map(|v| PolicyValueJson { key: v.key.clone(), value: v.value.clone() }).collect(),
        own: own
            .map(|o| OwnPolicyValueJson {
                place: o.place.clone(),
                now: o.now.clone(),
                because: o.because.clone(),
            })
            .collect(),
    }
}

pub(crate) fn taken_up(json: PolicyTakenUpJson) -> PolicyTakenUp {
    let values = json.values.into_iter();
    let own = json.own.into_iter();
    PolicyTakenUp {
        revision: json.revision,
        values: values.map(|v| PolicyValue { key: v.key, value: v.value }).collect(),
        own: own.map(|o| OwnPolicyValue { place: o.place, now: o.now, because: o.because }).collect(),
    }
}
