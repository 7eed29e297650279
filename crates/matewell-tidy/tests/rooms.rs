//! Import directions between rooms, as `docs/rooms.toml` allows them.

#![expect(clippy::unwrap_used, reason = "a missing file should stop the test")]

use std::{collections::BTreeMap, fs, path::Path};

#[derive(serde::Deserialize)]
struct Rooms {
    rooms: BTreeMap<String, Vec<String>>,
    pure: Pure,
}

#[derive(serde::Deserialize)]
struct Pure {
    rooms: Vec<String>,
    never: Vec<String>,
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().parent().unwrap()
}

fn dependencies_by_room() -> BTreeMap<String, Vec<String>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(root().join("crates")).unwrap() {
        let folder = entry.unwrap().path();
        let text = fs::read_to_string(folder.join("Cargo.toml")).unwrap();
        let manifest: toml::Table = text.parse().unwrap();
        let name = manifest["package"]["name"].as_str().unwrap().trim_start_matches("matewell-").to_owned();
        let dependencies = manifest
            .get("dependencies")
            .and_then(|d| d.as_table())
            .map(|d| d.keys().cloned().collect())
            .unwrap_or_default();
        found.insert(name, dependencies);
    }
    found
}

fn rules() -> Rooms {
    toml::from_str(&fs::read_to_string(root().join("docs/rooms.toml")).unwrap()).unwrap()
}

#[test]
fn imports_go_only_where_the_rooms_file_allows() {
    let rules = rules();
    let mut forbidden = Vec::new();
    for (room, dependencies) in dependencies_by_room() {
        let Some(allowed) = rules.rooms.get(&room) else {
            forbidden.push(format!("room `{room}` is not in docs/rooms.toml"));
            continue;
        };
        for dependency in dependencies {
            if let Some(other) = dependency.strip_prefix("matewell-")
                && !allowed.iter().any(|a| a == other)
            {
                forbidden.push(format!(
                    "`matewell-{room}` imports `matewell-{other}`, which docs/rooms.toml forbids"
                ));
            }
        }
    }
    assert!(forbidden.is_empty(), "{}", forbidden.join("\n"));
}

#[test]
fn pure_rooms_have_no_clock_file_network_database_or_json() {
    let rules = rules();
    let found = dependencies_by_room();
    let mut broken = Vec::new();
    for room in &rules.pure.rooms {
        for dependency in &found[room] {
            if rules.pure.never.contains(dependency) {
                broken.push(format!("pure room `{room}` depends on `{dependency}`"));
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

#[test]
fn every_room_says_its_question() {
    for entry in fs::read_dir(root().join("crates")).unwrap() {
        let folder = entry.unwrap().path();
        let manifest: toml::Table = fs::read_to_string(folder.join("Cargo.toml")).unwrap().parse().unwrap();
        let description = manifest["package"].get("description").and_then(|d| d.as_str()).unwrap_or_default();
        assert!(description.len() > 20, "{} has no description", folder.display());
    }
}
