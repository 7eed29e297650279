//! People, what lets them in, and the log of changes of rights.

use super::engine::{Lab, fresh};
use crate::bench::{MACHINE, at, end, held, registrations};
use matewell_store::{
    AuthorisationRow, CredentialKind, CredentialRow, PersonRow, Place, RightChange, Store, WebhookRow,
    link_holds,
};

fn change(what: &str) -> RightChange {
    RightChange {
        at: at(5),
        by: "Mara Lind".to_owned(),
        what: what.to_owned(),
        person: "Pim Aster".to_owned(),
        detail: "'quoted'; \"twice\"".to_owned(),
    }
}

fn pim() -> PersonRow {
    PersonRow {
        name_key: "pim aster".to_owned(),
        name: "Pim Aster".to_owned(),
        roles: "technician lead".to_owned(),
        password: Some("$argon2id$".to_owned()),
        has_left: false,
        failed: 0,
        locked_until: None,
    }
}

fn credential(n: u8, kind: CredentialKind) -> CredentialRow {
    CredentialRow {
        sha256: [n; 32],
        id: format!("c{n}"),
        kind,
        name_key: "pim aster".to_owned(),
        label: "bench".to_owned(),
        scope: "work".to_owned(),
        created_at: at(10),
        expires_at: at(20),
        ended_at: None,
    }
}

fn gauge() -> AuthorisationRow {
    AuthorisationRow { act: "gauge".to_owned(), interface: "3.5mm".to_owned() }
}

fn filled(store: &mut Store) {
    store.append(&registrations()).unwrap();
    store.put_person(&pim(), false, &change("added")).unwrap();
    store.set_authorisation(Some("pim aster"), &gauge(), true, &change("authorised")).unwrap();
    store.set_authorisation(None, &gauge(), true, &change("authorisation-required")).unwrap();
    store.put_credential(&credential(1, CredentialKind::Session), None).unwrap();
    store.put_credential(&credential(2, CredentialKind::Token), Some(&change("token-made"))).unwrap();
}

#[test]
fn people_and_what_lets_them_in_read_back_as_written() {
    let mut store = fresh(MACHINE);
    assert!(!store.has_people().unwrap());
    filled(&mut store);
    assert!(store.has_people().unwrap());
    assert_eq!(store.people().unwrap(), [pim()]);
    assert_eq!(store.authorisations("pim aster").unwrap(), [gauge()]);
    assert_eq!(store.authorisations_required().unwrap(), [gauge()]);
    assert_eq!(store.credential(&[2; 32]).unwrap(), Some(credential(2, CredentialKind::Token)));
    assert_eq!(store.credential(&[3; 32]).unwrap(), None);
    store.count_sign_in("pim aster", 3, Some(at(99))).unwrap();
    let counted = store.person("pim aster").unwrap().unwrap();
    assert_eq!((counted.failed, counted.locked_until), (3, Some(at(99))));
    store.set_authorisation(Some("pim aster"), &gauge(), false, &change("authorisation-taken")).unwrap();
    assert!(store.authorisations("pim aster").unwrap().is_empty());
    // A new password ends sessions and leaves tokens; leaving ends both.
    store.put_person(&pim(), true, &change("password")).unwrap();
    assert_eq!(store.credential(&[1; 32]).unwrap().unwrap().ended_at, Some(at(5)));
    assert_eq!(store.credential(&[2; 32]).unwrap().unwrap().ended_at, None);
    store.put_person(&PersonRow { has_left: true, ..pim() }, true, &change("left")).unwrap();
    assert_eq!(store.credentials_of("pim aster", CredentialKind::Token).unwrap()[0].ended_at, Some(at(5)));
    assert!(!store.end_credential("c2", at(6), Some(&change("token-ended"))).unwrap());
    let what: Vec<String> = store.right_changes(9).unwrap().into_iter().map(|c| c.what).collect();
    let expected = ["left", "password", "authorisation-taken", "token-made", "authorisation-required"];
    assert_eq!(what[..5], expected);
    assert_eq!(what[5..], ["authorised", "added"]);
    assert_eq!(store.right_changes(1).unwrap(), [change("left")]);
}

#[test]
fn a_change_of_rights_is_neither_changed_nor_removed() {
    let lab = Lab::new();
    let mut store = Store::create_with_machine(&lab.place, MACHINE).unwrap();
    filled(&mut store);
    for forbidden in ["UPDATE right_change SET changed_by = 'x'", "DELETE FROM right_change"] {
        let answer = lab.by_hand(forbidden).unwrap_err();
        assert!(answer.contains("a change of rights is never"), "{answer}");
    }
    assert_eq!(store.right_changes(9).unwrap().len(), 4);
}

#[test]
fn people_move_with_their_lab_and_sessions_stay() {
    let mut store = fresh(MACHINE);
    filled(&mut store);
    let seed = store.signing_seed([9; 32], &change("signing-key-made"), at(7)).unwrap();
    assert_eq!(store.signing_seed([8; 32], &change("signing-key-made"), at(8)).unwrap(), seed);
    let folder = tempfile::tempdir().unwrap();
    let place = Place::File(folder.path().join("moved.db"));
    store.copy_to(&place).unwrap();
    let mut copy = Store::open(&place).unwrap();
    assert_eq!(copy.people().unwrap(), store.people().unwrap());
    assert_eq!(copy.authorisations("pim aster").unwrap(), [gauge()]);
    assert_eq!(copy.credential(&[2; 32]).unwrap(), Some(credential(2, CredentialKind::Token)));
    assert_eq!(copy.credential(&[1; 32]).unwrap(), None, "whoever was signed in signs in anew");
    assert_eq!(copy.right_changes(9).unwrap(), store.right_changes(9).unwrap());
    assert_eq!(copy.signing_seed([1; 32], &change("signing-key-made"), at(9)).unwrap(), seed);
}

#[test]
fn every_fact_of_an_end_comes_with_the_hash_before_it() {
    let mut store = fresh(MACHINE);
    store.append(&registrations()).unwrap();
    store.append(&[held(10, end(1, 0)), held(11, end(0, 0))]).unwrap();
    let facts = store.facts_behind(end(0, 0)).unwrap();
    assert_eq!(facts.len(), 2, "its registration and its hold");
    assert_eq!(facts[0].previous, [0; 32]);
    for fact in &facts {
        assert!(link_holds(fact).unwrap());
        let mut other = fact.clone();
        other.linked.fact.person.push('x');
        assert!(!link_holds(&other).unwrap());
    }
}

#[test]
fn an_address_is_told_from_where_it_was_and_once_the_time_has_come() {
    let mut store = fresh(MACHINE);
    store.append(&registrations()).unwrap();
    let facts = store.counts().unwrap().facts;
    let row = WebhookRow {
        id: "w".to_owned(),
        url: "http://127.0.0.1/".to_owned(),
        secret: "0123456789abcdef".to_owned(),
        created_at: at(1),
        ended_at: None,
        told_seq: facts - 1,
        told_at: None,
        failed: 0,
        next_at: at(5),
        last_error: None,
    };
    store.put_webhook(&row, &change("webhook-made")).unwrap();
    assert_eq!(store.webhook_to_tell(at(4)).unwrap(), None);
    assert_eq!(store.webhook_to_tell(at(5)).unwrap(), Some(row.clone()));
    let told = WebhookRow { told_seq: facts, told_at: Some(at(6)), last_error: Some("x".to_owned()), ..row };
    store.note_telling(&told).unwrap();
    assert_eq!(store.webhook_to_tell(at(9)).unwrap(), None);
    assert_eq!(store.webhooks().unwrap(), [told]);
    assert!(store.end_webhook("w", at(7), &change("webhook-ended")).unwrap());
    assert!(!store.end_webhook("w", at(8), &change("webhook-ended")).unwrap());
}
