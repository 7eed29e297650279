use super::*;
use crate::{Authorised, Ids, Said, Way};

struct Counted(u8);
impl Ids for Counted {
    fn next(&mut self, _: Moment) -> [u8; 16] {
        self.0 += 1;
        [self.0; 16]
    }
}

const T0: i64 = 1_800_000_000_000_000;
const BY: &str = "Hale Orrin";

fn at(seconds: i64) -> Moment {
    Moment::from_microseconds(T0 + seconds * 1_000_000)
}

fn lab() -> Workshop {
    Workshop::in_memory(Box::new(Counted(0))).unwrap()
}

/// A lab with somebody who administers it.
fn staffed() -> Workshop {
    let mut shop = lab();
    shop.add_person(BY, &[Role::Administrator], Some(quick("pw")), "first start", at(0)).unwrap();
    shop
}

/// A stored hash that is quick to compare: the smallest Argon2id allows.
fn quick(password: &str) -> String {
    use argon2::{Algorithm, Argon2, Params, Version, password_hash::PasswordHasher as _};
    Argon2::new(Algorithm::Argon2id, Version::V0x13, Params::new(8, 1, 1, None).unwrap())
        .hash_password(password.as_bytes())
        .unwrap()
        .to_string()
}

fn sign_in(shop: &mut Workshop, name: &str, password: &str, now: Moment) -> Result<String, AppError> {
    let tried = shop.begin_sign_in(name, now)?;
    let matches = password_matches(password, &tried.hash);
    shop.end_sign_in(name, &tried, matches, now)
}

fn who(shop: &Workshop, secret: &str, way: Way, now: Moment) -> Option<crate::Who> {
    shop.access(Some((secret, way)), now).unwrap().who
}

#[test]
fn a_password_is_kept_as_argon2id_and_only_the_right_one_matches() {
    let hash = hash_password("correct horse battery").unwrap();
    assert!(hash.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{hash}");
    assert!(password_matches("correct horse battery", &hash));
    assert!(!password_matches("correct horse batterz", &hash));
    assert!(hash_password("short").is_err());
    assert_ne!(hash, hash_password("correct horse battery").unwrap(), "a salt of its own");
    // An unknown name is held against a hash of the same cost.
    let nobody = lab().begin_sign_in("nobody", at(0)).unwrap().hash;
    assert!(argon2::password_hash::phc::PasswordHash::new(&nobody).is_ok());
    assert_eq!(nobody.split('$').take(4).collect::<Vec<_>>(), hash.split('$').take(4).collect::<Vec<_>>());
}

#[test]
fn the_first_administrator_needs_the_printed_code_once() {
    let mut shop = lab();
    let code = shop.first_start_code(at(0)).unwrap().unwrap();
    let wrong = shop.first_administrator("AAAA-BBBB", false, "Mara Lind", quick("x"), at(1));
    assert!(matches!(wrong, Err(AppError::SignIn(_))), "{wrong:?}");
    let late = shop.first_administrator(&code, false, "Mara Lind", quick("x"), at(86_401));
    assert!(matches!(late, Err(AppError::SignIn(_))), "{late:?}");
    let typed = code.to_lowercase().replace('-', " ");
    let secret = shop.first_administrator(&typed, false, "Mara Lind", quick("x"), at(2)).unwrap();
    let mara = who(&shop, &secret, Way::Session, at(3)).unwrap();
    assert!(mara.may(Right::Administer) && mara.may(Right::Decide) && mara.may(Right::Work));
    let again = shop.first_administrator(&code, false, "Pim Aster", quick("x"), at(3));
    assert!(matches!(again, Err(AppError::Conflict(_))));
    assert_eq!(shop.first_start_code(at(4)).unwrap(), None);
}

#[test]
fn roles_give_rights_and_nothing_more() {
    let mut shop = staffed();
    for (name, role, expected) in [
        ("r", Role::Reader, "read"),
        ("t", Role::Technician, "read work"),
        ("l", Role::Lead, "read work decide"),
        ("a", Role::Administrator, "read administer"),
    ] {
        shop.add_person(name, &[role], Some(quick("pw")), BY, at(0)).unwrap();
        let secret = sign_in(&mut shop, name, "pw", at(1)).unwrap();
        let who = who(&shop, &secret, Way::Session, at(2)).unwrap();
        assert_eq!(who.json().rights.join(" "), expected);
        assert!(who.may(Right::Own));
    }
}

#[test]
fn a_sign_in_ends_with_time_with_signing_out_with_the_password_and_with_leaving() {
    let mut shop = lab();
    shop.add_person("Mara Lind", &[Role::Administrator], Some(quick("pw")), BY, at(0)).unwrap();
    shop.add_person("Pim Aster", &[Role::Technician], Some(quick("pw")), BY, at(0)).unwrap();
    let first = sign_in(&mut shop, " PIM aster ", "pw", at(1)).unwrap();
    let pim = who(&shop, &first, Way::Session, at(12 * 3600)).unwrap();
    assert_eq!(pim.name, "Pim Aster");
    assert!(who(&shop, &first, Way::Session, at(12 * 3600 + 1)).is_none(), "after twelve hours");
    assert!(who(&shop, &first, Way::Token, at(2)).is_none(), "a session is no token");
    shop.sign_out(&pim, at(3)).unwrap();
    assert!(who(&shop, &first, Way::Session, at(3)).is_none(), "signed out");
    let second = sign_in(&mut shop, "Pim Aster", "pw", at(4)).unwrap();
    shop.set_password("pim aster", quick("other"), BY, at(5)).unwrap();
    assert!(who(&shop, &second, Way::Session, at(5)).is_none(), "a new password");
    assert!(sign_in(&mut shop, "Pim Aster", "pw", at(6)).is_err());
    let third = sign_in(&mut shop, "Pim Aster", "other", at(7)).unwrap();
    let token = shop.new_token("Pim Aster", "bench 3", &[Right::Work], 30, BY, at(7)).unwrap();
    assert!(who(&shop, &token.secret, Way::Token, at(8)).is_some());
    shop.set_left("Pim Aster", true, "moved on", BY, at(9)).unwrap();
    assert!(who(&shop, &third, Way::Session, at(9)).is_none());
    assert!(who(&shop, &token.secret, Way::Token, at(9)).is_none());
    assert!(sign_in(&mut shop, "Pim Aster", "other", at(10)).is_err());
}

#[test]
fn failed_sign_ins_lock_the_name_for_longer_and_longer() {
    let mut shop = staffed();
    shop.add_person("Pim Aster", &[Role::Technician], Some(quick("pw")), BY, at(0)).unwrap();
    for _ in 0..5 {
        assert!(matches!(sign_in(&mut shop, "Pim Aster", "no", at(0)), Err(AppError::SignIn(_))));
    }
    let locked = sign_in(&mut shop, "Pim Aster", "pw", at(1));
    assert!(matches!(locked, Err(AppError::TooMany { seconds: 30 })), "{locked:?}");
    assert!(matches!(sign_in(&mut shop, "Pim Aster", "no", at(31)), Err(AppError::SignIn(_))));
    assert!(
        matches!(sign_in(&mut shop, "Pim Aster", "pw", at(90)), Err(AppError::TooMany { .. })),
        "doubled"
    );
    assert!(sign_in(&mut shop, "Pim Aster", "pw", at(92)).is_ok());
    assert!(sign_in(&mut shop, "Pim Aster", "pw", at(93)).is_ok(), "a success counts anew");
    assert!(matches!(sign_in(&mut shop, "nobody", "pw", at(0)), Err(AppError::SignIn(_))));
}

#[test]
fn a_token_is_limited_to_its_scope_and_time() {
    let mut shop = staffed();
    shop.add_person("rig-1", &[Role::Technician], None, BY, at(0)).unwrap();
    let refused = shop.new_token("rig-1", "sweeps", &[Right::Decide], 30, BY, at(0));
    assert!(refused.is_err(), "a technician decides nothing");
    assert!(shop.new_token("rig-1", "sweeps", &[], 30, BY, at(0)).is_err());
    assert!(shop.new_token("rig-1", "sweeps", &[Right::Work], 367, BY, at(0)).is_err());
    let token = shop.new_token("rig-1", "sweeps", &[Right::Work], 1, BY, at(0)).unwrap();
    let rig = who(&shop, &token.secret, Way::Token, at(86_399)).unwrap();
    assert!(rig.may(Right::Work) && !rig.may(Right::Read) && !rig.may(Right::Own));
    assert!(who(&shop, &token.secret, Way::Token, at(86_400)).is_none(), "expired");
    assert!(who(&shop, &format!("{}0", token.secret), Way::Token, at(1)).is_none());
    shop.end_token("rig-1", &token.id, BY, at(2)).unwrap();
    assert!(who(&shop, &token.secret, Way::Token, at(3)).is_none(), "ended");
    assert!(shop.end_token("rig-1", &token.id, BY, at(3)).is_err());
    assert!(sign_in(&mut shop, "rig-1", "", at(1)).is_err(), "no password, no sign-in");
    // Taking the role away takes the right from the token at once.
    let token = shop.new_token("rig-1", "sweeps", &[Right::Read, Right::Work], 1, BY, at(4)).unwrap();
    shop.set_roles("rig-1", &[Role::Reader], BY, at(5)).unwrap();
    let rig = who(&shop, &token.secret, Way::Token, at(6)).unwrap();
    assert!(rig.may(Right::Read) && !rig.may(Right::Work));
}

#[test]
fn every_change_of_rights_is_on_record_with_who_and_when_and_without_secrets() {
    let mut shop = lab();
    shop.add_person("Mara Lind", &[Role::Administrator], Some(quick("sesame open")), BY, at(0)).unwrap();
    shop.set_roles("Mara Lind", &[Role::Administrator, Role::Lead], BY, at(1)).unwrap();
    shop.set_password("Mara Lind", quick("sesame shut"), BY, at(2)).unwrap();
    let token = shop.new_token("Mara Lind", "rack", &[Right::Read], 9, BY, at(3)).unwrap();
    shop.end_token("Mara Lind", &token.id, BY, at(4)).unwrap();
    let gauge = Authorised { act: Act::Gauge, interface: Some("3.5mm") };
    shop.require_authorisation(gauge, true, BY, at(5)).unwrap();
    shop.authorise("Mara Lind", gauge, true, BY, at(6)).unwrap();
    shop.authorise("Mara Lind", gauge, false, BY, at(7)).unwrap();
    let changes = shop.right_changes().unwrap().changes;
    let what: Vec<&str> = changes.iter().rev().map(|c| c.what.as_str()).collect();
    assert_eq!(
        what,
        [
            "added",
            "roles",
            "password",
            "token-made",
            "token-ended",
            "authorisation-required",
            "authorised",
            "authorisation-taken"
        ]
    );
    let told = serde_json::to_string(&changes).unwrap();
    assert!(!told.contains("sesame") && !told.contains("argon2") && !told.contains(&token.secret), "{told}");
    assert!(changes.iter().all(|c| c.by == BY && c.at.starts_with("2027-01-15")), "{told}");
    let shown = serde_json::to_string(&shop.people(at(8)).unwrap()).unwrap();
    assert!(!shown.contains("argon2") && !shown.contains(&token.secret), "{shown}");
}

#[test]
fn the_first_person_administers() {
    let mut shop = lab();
    for (role, password) in [(Role::Lead, Some(quick("pw"))), (Role::Administrator, None)] {
        let refused = shop.add_person("Pim Aster", &[role], password, BY, at(0));
        assert!(matches!(refused, Err(AppError::Conflict(_))), "{refused:?}");
    }
    assert!(!shop.access(None, at(0)).unwrap().people);
}

#[test]
fn somebody_always_administers() {
    let mut shop = lab();
    shop.add_person("Mara Lind", &[Role::Administrator], Some(quick("pw")), BY, at(0)).unwrap();
    assert!(matches!(shop.set_roles("Mara Lind", &[Role::Lead], BY, at(1)), Err(AppError::Conflict(_))));
    assert!(matches!(shop.set_left("Mara Lind", true, "gone", BY, at(1)), Err(AppError::Conflict(_))));
    shop.add_person("Pim Aster", &[Role::Administrator], Some(quick("pw")), BY, at(2)).unwrap();
    shop.set_left("Mara Lind", true, "gone", BY, at(3)).unwrap();
    assert!(matches!(shop.set_left("Pim Aster", true, "gone", BY, at(4)), Err(AppError::Conflict(_))));
}

#[test]
fn an_authorisation_that_the_lab_wants_is_asked_for_by_interface() {
    let mut shop = staffed();
    let now = Moment::from_microseconds(T0);
    shop.demo(now).unwrap();
    let said = |name: &str| Said::at_the_bench(name);
    let ends = shop.ends("IN-", None, 0, 10).unwrap();
    let port = ends.ends[0].end.tag.clone();
    let interface = shop.one_end(&port).unwrap().interface;
    let recessed =
        || matewell_lab::PinPosition::Recessed(matewell_quantity::Length::from_micrometres(12.0).unwrap());
    let try_to_gauge =
        |shop: &mut Workshop, name: &str| shop.gauge(&port, vec![recessed()], None, None, &said(name), now);
    try_to_gauge(&mut shop, "Pim Aster").unwrap();
    let gauge = Authorised { act: Act::Gauge, interface: Some(&interface) };
    shop.require_authorisation(gauge, true, BY, now).unwrap();
    shop.add_person("Pim Aster", &[Role::Technician], None, BY, now).unwrap();
    let before = shop.store().counts().unwrap().facts;
    let refused = try_to_gauge(&mut shop, "Pim Aster");
    assert!(
        matches!(&refused, Err(AppError::NoRight { needs, .. }) if needs.contains(&interface)),
        "{refused:?}"
    );
    assert_eq!(shop.store().counts().unwrap().facts, before, "nothing was written");
    let other = if interface == "sma" { "n50" } else { "sma" };
    shop.authorise("Pim Aster", Authorised { act: Act::Gauge, interface: Some(other) }, true, BY, now)
        .unwrap();
    assert!(try_to_gauge(&mut shop, "Pim Aster").is_err(), "of another interface");
    shop.authorise("Pim Aster", Authorised { act: Act::Gauge, interface: None }, true, BY, now).unwrap();
    try_to_gauge(&mut shop, "pim aster").unwrap();

    let mate = Authorised { act: Act::MateInstrumentPort, interface: None };
    shop.require_authorisation(mate, true, BY, now).unwrap();
    let cable = shop.ends("CB-", None, 0, 1).unwrap().ends[0].end.tag.clone();
    let rig = crate::LoggedMate { a: cable.clone(), b: port.clone(), happened_at: now, wrench: None };
    let refused = shop.log_mates(std::slice::from_ref(&rig), &said("Pim Aster"), now);
    assert!(matches!(refused, Err(AppError::NoRight { .. })), "{refused:?}");
    let order = crate::MateOrder { a: &cable, b: &port, ..Default::default() };
    assert!(matches!(shop.mate(&order, &said("Pim Aster"), now), Err(AppError::NoRight { .. })));
    shop.authorise("Pim Aster", mate, true, BY, now).unwrap();
    shop.log_mates(&[rig], &said("Pim Aster"), now).unwrap();
}
