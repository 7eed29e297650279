//! Which policy a lab judges by, and what changed from the one before.

/// The lab judges by this data from then on.
///
/// The whole of it is written down, so that what was in force on any day is
/// known even when the program and the lab's own file have moved on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PolicyTakenUp {
    /// Names the data: that of the program, and the lab's own by the checksum
    /// of its text.
    pub revision: String,
    /// Every value of the policy, with its unit.
    pub values: Vec<PolicyValue>,
    /// Every value of the lab's own, of any sheet.
    pub own: Vec<OwnPolicyValue>,
}

/// One value in force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PolicyValue {
    /// Its key.
    pub key: String,
    /// The value with its unit.
    pub value: String,
}

/// One value of the lab's own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnPolicyValue {
    /// Where it stands, for example `interface.3.5mm.coupling_torque`.
    pub place: String,
    /// The value with its unit.
    pub now: String,
    /// Why.
    pub because: String,
}

/// One difference between two policies.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PolicyChange {
    /// Where it stands.
    pub place: String,
    /// What held before; none if nothing did.
    pub before: Option<String>,
    /// What holds now; none if nothing does.
    pub now: Option<String>,
    /// The lab's reason, for a value of its own.
    pub because: Option<String>,
}

impl PolicyTakenUp {
    /// What differs from `before`, in the order of the places. A value that
    /// stays and is given another reason differs too.
    #[must_use]
    pub fn changes_from(&self, before: &Self) -> Vec<PolicyChange> {
        let (old, new) = (before.by_place(), self.by_place());
        let places: std::collections::BTreeSet<&str> = old.keys().chain(new.keys()).copied().collect();
        places
            .into_iter()
            .filter(|place| old.get(place) != new.get(place))
            .map(|place| PolicyChange {
                place: place.to_owned(),
                before: old.get(place).map(|(value, _)| (*value).to_owned()),
                now: new.get(place).map(|(value, _)| (*value).to_owned()),
                because: new.get(place).and_then(|(_, because)| because.map(str::to_owned)),
            })
            .collect()
    }

    /// Value and reason by place. A value of the policy that is the lab's own
    /// has the reason; it is in both lists.
    fn by_place(&self) -> std::collections::BTreeMap<&str, (&str, Option<&str>)> {
        let own = self.own.iter().map(|o| (o.place.as_str(), (o.now.as_str(), Some(o.because.as_str()))));
        let mut all: std::collections::BTreeMap<_, _> = own.collect();
        for value in &self.values {
            let because = all
                .remove(format!("policy.{}", value.key).as_str())
                .and_then(|(_, because): (&str, Option<&str>)| because);
            all.insert(value.key.as_str(), (value.value.as_str(), because));
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn policy(values: &[(&str, &str)], own: &[(&str, &str, &str)]) -> PolicyTakenUp {
        PolicyTakenUp {
            revision: "data-1".to_owned(),
            values: values
                .iter()
                .map(|(key, value)| PolicyValue { key: (*key).to_owned(), value: (*value).to_owned() })
                .collect(),
            own: own
                .iter()
                .map(|(place, now, because)| OwnPolicyValue {
                    place: (*place).to_owned(),
                    now: (*now).to_owned(),
                    because: (*because).to_owned(),
                })
                .collect(),
        }
    }

    type Told<'a> = (&'a str, Option<&'a str>, Option<&'a str>, Option<&'a str>);

    fn told(changes: &[PolicyChange]) -> Vec<Told<'_>> {
        changes
            .iter()
            .map(|c| (c.place.as_str(), c.before.as_deref(), c.now.as_deref(), c.because.as_deref()))
            .collect()
    }

    #[test]
    fn what_came_what_went_and_what_moved_is_told_once_with_the_reason() {
        let before = policy(
            &[("readings", "3"), ("due", "90 day"), ("gone", "1")],
            &[("interface.N.limit", "5 um", "the old manual")],
        );
        let after = policy(
            &[("readings", "5"), ("due", "90 day"), ("new", "2 um")],
            &[
                ("policy.readings", "5", "three were too few"),
                ("interface.N.torque", "1.1 N.m", "our wrench"),
            ],
        );
        assert_eq!(
            told(&after.changes_from(&before)),
            [
                ("gone", Some("1"), None, None),
                ("interface.N.limit", Some("5 um"), None, None),
                ("interface.N.torque", None, Some("1.1 N.m"), Some("our wrench")),
                ("new", None, Some("2 um"), None),
                ("readings", Some("3"), Some("5"), Some("three were too few")),
            ]
        );
        assert!(after.changes_from(&after).is_empty());
    }

    #[test]
    fn another_reason_for_the_same_value_is_a_change() {
        let before = policy(&[("readings", "5")], &[("policy.readings", "5", "a guess")]);
        let after = policy(&[("readings", "5")], &[("policy.readings", "5", "a study")]);
        assert_eq!(told(&after.changes_from(&before)), [("readings", Some("5"), Some("5"), Some("a study"))]);
    }
}
