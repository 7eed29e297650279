//! TLS to PostgreSQL, with a certificate made on the spot.

use crate::cluster::{Cluster, is_root, programs};
use matewell_store::{Place, Store};
use rcgen::{BasicConstraints, CertificateParams, CertifiedIssuer, DnType, IsCa, KeyPair};
use std::{fs, net::TcpListener, path::Path, process::Command};

/// A port that was free a moment ago.
fn free_port() -> u16 {
    TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port()
}

/// A root, and a certificate for `localhost` that it signed, in a folder that
/// the server may read. Gives the files of root, certificate and key.
fn certificates(folder: &Path, name: &str) -> [String; 3] {
    let mut authority = CertificateParams::new(Vec::new()).unwrap();
    authority.distinguished_name.push(DnType::CommonName, name);
    authority.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
    let root = CertifiedIssuer::self_signed(authority, KeyPair::generate().unwrap()).unwrap();
    let key = KeyPair::generate().unwrap();
    let certificate =
        CertificateParams::new(vec!["localhost".to_owned()]).unwrap().signed_by(&key, &root).unwrap();
    let files = ["root.pem", "server.pem", "server.key"].map(|name| folder.join(name).display().to_string());
    for (file, text) in files.iter().zip([root.pem(), certificate.pem(), key.serialize_pem()]) {
        fs::write(file, text).unwrap();
        assert!(Command::new("chmod").args(["600", file]).status().unwrap().success());
        if is_root() {
            assert!(Command::new("chown").args(["postgres", file]).status().unwrap().success());
        }
    }
    files
}

fn refusal(url: &str) -> String {
    Store::exists(Place::Server(url.to_owned())).unwrap_err().to_string()
}

#[test]
fn a_server_is_reached_by_tls_and_only_under_its_own_name() {
    let Some(programs) = programs() else { return };
    // Readable on the way for the user that PostgreSQL runs as.
    let folder = tempfile::Builder::new().prefix("matewell-tls").tempdir_in("/tmp").unwrap();
    assert!(Command::new("chmod").arg("755").arg(folder.path()).status().unwrap().success());
    let [root, certificate, key] = certificates(folder.path(), "Larkmoor root");
    let elsewhere = folder.path().join("elsewhere");
    fs::create_dir(&elsewhere).unwrap();
    let [other, ..] = certificates(&elsewhere, "another root");
    let (port, plain_port) = (free_port(), free_port());
    let listen = |port: u16| format!("listen_addresses = 'localhost'\nport = {port}\n");
    let secure = Cluster::new(
        &programs,
        &format!("{}ssl = on\nssl_cert_file = '{certificate}'\nssl_key_file = '{key}'\n", listen(port)),
    );
    let plain = Cluster::new(&programs, &listen(plain_port));
    let url =
        |host: &str, port: u16, how: &str| format!("postgresql://postgres@{host}:{port}/postgres?{how}");
    let full = format!("sslmode=verify-full&sslrootcert={root}");

    // Works, and is what it says; a listener too.
    let store =
        Store::create_with_machine(Place::Server(url("localhost", port, &full)), crate::bench::MACHINE)
            .unwrap();
    let sessions = |is_tls: bool| -> i64 {
        let socket =
            format!("postgresql:///postgres?host={}&port={port}&user=postgres", secure.folder.display());
        let mut client = postgres::Client::connect(&socket, postgres::NoTls).unwrap();
        let sql = "SELECT count(*) FROM pg_stat_ssl s JOIN pg_stat_activity a USING (pid) \
             WHERE a.application_name = 'matewell' AND s.ssl = $1";
        client.query_one(sql, &[&is_tls]).unwrap().get(0)
    };
    assert_eq!((sessions(true), sessions(false)), (1, 0));
    let place = Place::Server(url("localhost", port, &full));
    assert_eq!(place.name(), "postgres");
    let listener = matewell_store::Listener::open(place).unwrap();
    assert_eq!((sessions(true), sessions(false)), (2, 0));
    drop((store, listener));
    let encrypted = ["sslmode=require".to_owned(), format!("sslmode=require&sslrootcert={root}")];
    for how in encrypted {
        // For whichever name.
        assert!(Store::exists(Place::Server(url("127.0.0.1", port, &how))).unwrap(), "{how}");
    }

    // Another name, another root, no TLS at all, no roots: said what was expected.
    let said = refusal(&url("127.0.0.1", port, &full));
    assert!(said.contains("127.0.0.1") && said.contains("localhost"), "{said}");
    for how in ["require", "verify-full"] {
        let said = refusal(&url("localhost", port, &format!("sslmode={how}&sslrootcert={other}")));
        assert!(said.contains("expected TLS") && said.contains("UnknownIssuer"), "{how}: {said}");
    }
    let said = refusal(&url("localhost", plain_port, &full));
    assert!(said.contains("expected TLS as sslmode asks for, found server does not support TLS"), "{said}");
    let said = refusal(&url("localhost", port, "sslmode=verify-full&sslrootcert=/no/such.pem"));
    assert!(said.contains("/no/such.pem") && said.contains("expected certificates"), "{said}");
    let said = refusal(&url("localhost", port, "sslmode=verify-full"));
    assert!(said.contains("UnknownIssuer"), "the roots of this machine do not know it: {said}");
    // Left out, or said so, it is plain.
    assert!(!Store::exists(Place::Server(url("localhost", plain_port, "sslmode=disable"))).unwrap());
    drop(plain);
}
