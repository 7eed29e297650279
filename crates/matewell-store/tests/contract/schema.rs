//! Rules about the schema, each a query of the schema itself.

use crate::{
    bench::{MACHINE, end, held, registrations},
    cluster::{Cluster, cluster},
};
use matewell_store::{Place, Store, hash_text, sha256_of};
use std::{collections::BTreeSet, fs, path::Path};

/// SHA-256 of every released migration: one that is laid somewhere may never
/// change again. A new one is added here when it is released.
const RELEASED: &[(&str, &str, &str)] = &[
    (
        "0001_log.sql",
        "4c633aca9885d5e95d4bfd5822e7a7b5054418f019a58ba39a77ce50e762f535",
        "0c0e88022c94b4bd8a05c5485d1644c8e5f4c1ce001879a484fe6fc06b3d288b",
    ),
    (
        "0002_marks.sql",
        "141758ccf667083b41cd51d047318fbcb16672094c08097d0379cf7f8d218f40",
        "20ae55deb78e92ef1cfca81f3b7cf8698ede5f91f6cd9a9095a8d9265db3004a",
    ),
    (
        "0003_case_kinds.sql",
        "2e3f3c24b9f51806e42aed2806f67b62b0d7b12ae58d2e9b7559098f332df4a2",
        "bea86d4e15f79149420ad2274500b4be4f94d8d713fe58fd5bc8f21cd231d014",
    ),
    (
        "0004_sweeps.sql",
        "9b4c29bb4504bd93ca40f3c59d13a3ca036e8d51f6b8b4a02983e455a3a12bd1",
        "b4ab9b95382631d1f723bed4a1e1bd920f67acc8c48eb430386ec926a4aac3d4",
    ),
    (
        "0005_other_marks.sql",
        "e95aab97d4671443a47495449eec44a798442d10e16d0616f88c6777599109f6",
        "74d8fcbfc5de8b8de18ed416711be1810fbba5a38e23fa2f58ed9d9f2417d02b",
    ),
    (
        "0006_kit_kinds.sql",
        "13f39a5a4522ba59677601c62dc8b6b06ab4301df5f55d2db8efe5716434667a",
        "2558b918d5ed87b2372fedc84336d214ba34e6d0d8ef48793443391e8e82b7a5",
    ),
    (
        "0007_back_ups.sql",
        "552a428189a436a1d2965a9413a7059fcaf83feea1acae0f8f003e946711468e",
        "6d414e02f228b277bc9eb53ea79a395123e45096b08b0d07c924a3637dff57f2",
    ),
    (
        "0008_people.sql",
        "2ed352dfe4002b4a69a9853433e1bc7cb6a356123960a4a87d4cd42169973657",
        "023c2f9c560f464aeb987efc0ef1918a4063b528f4fccace14b41d24d8ca3d66",
    ),
    (
        "0009_policy_kind.sql",
        "75a5796e0e0ed39fe8c258e9343a04fe2ca092d904fc02149417b3734801cd72",
        "66e31f5e2621e885962a29b1cefa5da4c52385e98eec72a8d4b28cb0b78fc74a",
    ),
    (
        "0010_item_marks.sql",
        "93cd4c4a9da3697c39326a7def26e71e910ce7a2ec16a0db1cd0ff39b0ed6600",
        "17098b4a6215b9d58ef6a7d033efa9f6e06ca8e9d8767ae5b0e59a2182bada9e",
    ),
];

fn names(folder: &str) -> BTreeSet<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let all = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
    all.filter(|name| Path::new(name).extension().is_some_and(|ending| ending == "sql")).collect()
}

#[test]
fn a_migration_has_the_same_name_in_both_engines_and_never_changes() {
    let of_files = names("migrations");
    assert_eq!(of_files, names("migrations/postgres"));
    let numbers: BTreeSet<&str> = of_files.iter().filter_map(|name| name.get(..4)).collect();
    assert_eq!(numbers.len(), of_files.len(), "a number given twice");
    let hash = |folder: &str, name: &str| {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder).join(name);
        hash_text(&sha256_of(&fs::read(path).unwrap()))
    };
    for (name, sqlite, postgres) in RELEASED {
        assert_eq!(hash("migrations", name), *sqlite, "{name}");
        assert_eq!(hash("migrations/postgres", name), *postgres, "{name} of PostgreSQL");
    }
}

fn file() -> (tempfile::TempDir, rusqlite::Connection) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.db");
    drop(Store::create_with_machine(&path, MACHINE).unwrap());
    let raw = rusqlite::Connection::open(&path).unwrap();
    (folder, raw)
}

fn found(raw: &rusqlite::Connection, sql: &str) -> Vec<String> {
    raw.prepare(sql).unwrap().query_map([], |row| row.get(0)).unwrap().collect::<Result<_, _>>().unwrap()
}

fn server(cluster: &Cluster) -> postgres::Client {
    let url = cluster.new_database();
    drop(Store::create_with_machine(Place::Server(url.clone()), MACHINE).unwrap());
    postgres::Client::connect(&url, postgres::NoTls).unwrap()
}

fn found_there(client: &mut postgres::Client, sql: &str) -> Vec<String> {
    client.query(sql, &[]).unwrap().iter().map(|row| row.get(0)).collect()
}

const NOTHING: Vec<String> = Vec::new();

#[test]
fn the_tables_of_a_file_keep_the_rules() {
    let (_folder, raw) = file();
    let tables =
        "pragma_table_list t WHERE t.schema = 'main' AND t.type = 'table' AND t.name NOT LIKE 'sqlite_%'";
    assert!(found(&raw, &format!("SELECT t.name FROM {tables}")).len() > 8);
    // Every table is strict about its types.
    assert_eq!(found(&raw, &format!("SELECT t.name FROM {tables} AND t.strict = 0")), NOTHING);
    // Every reference has an index, but those to facts, which are never
    // deleted or numbered anew, so that nobody ever looks from there.
    let without_index = "SELECT t.name || '.' || f.\"from\" FROM pragma_table_list t \
         JOIN pragma_foreign_key_list(t.name) f WHERE t.schema = 'main' AND f.\"table\" <> 'fact' AND NOT EXISTS ( \
         SELECT 1 FROM pragma_index_list(t.name) i JOIN pragma_index_info(i.name) c \
         WHERE c.seqno = 0 AND c.name = f.\"from\")";
    assert_eq!(found(&raw, without_index), NOTHING);
    // Nothing disappears because something else does.
    let cascades = "SELECT t.name || '.' || f.\"from\" FROM pragma_table_list t \
         JOIN pragma_foreign_key_list(t.name) f WHERE f.on_delete <> 'RESTRICT' OR f.on_update <> 'RESTRICT'";
    assert_eq!(found(&raw, cascades), NOTHING);
    // What was said can be neither changed nor removed.
    let guards = "SELECT tbl_name || ' ' || name FROM sqlite_schema WHERE type = 'trigger' ORDER BY 1";
    assert_eq!(
        found(&raw, guards),
        [
            "fact fact_is_not_deleted",
            "fact fact_is_not_updated",
            "kept_file kept_file_is_not_deleted",
            "kept_file kept_file_is_not_updated",
            "right_change right_change_is_not_deleted",
            "right_change right_change_is_not_updated",
        ]
    );
    // A column of numbers that may hold NaN or infinity has to refuse them.
    let loose = "SELECT t.name || '.' || c.name FROM pragma_table_list t JOIN pragma_table_info(t.name) c \
         JOIN sqlite_schema s ON s.name = t.name WHERE t.schema = 'main' AND c.type = 'REAL' \
         AND instr(s.sql, 'abs(' || c.name || ') <= 1.7976931348623157e308') = 0";
    assert_eq!(found(&raw, loose), NOTHING);
}

#[test]
fn the_tables_of_a_server_keep_the_rules() {
    let Some(cluster) = cluster() else { return };
    let mut raw = server(cluster);
    // As in a file; the log itself has its machines by number in fact_place.
    let without_index = "SELECT t.relname || '.' || a.attname FROM pg_constraint c \
         JOIN pg_class t ON t.oid = c.conrelid JOIN pg_attribute a ON a.attrelid = t.oid AND a.attnum = c.conkey[1] \
         WHERE c.contype = 'f' AND c.conparentid = 0 AND c.confrelid <> 'fact'::regclass AND t.relname <> 'fact' \
         AND NOT EXISTS ( \
         SELECT 1 FROM pg_index i WHERE i.indrelid = t.oid AND i.indkey[0] = c.conkey[1])";
    assert_eq!(found_there(&mut raw, without_index), NOTHING);
    let cascades = "SELECT conname::text FROM pg_constraint WHERE contype = 'f' AND (confdeltype <> 'r' OR confupdtype <> 'r')";
    assert_eq!(found_there(&mut raw, cascades), NOTHING);
    let guards = "SELECT tgrelid::regclass || ' ' || tgname FROM pg_trigger WHERE NOT tgisinternal \
         AND tgenabled = 'O' AND tgparentid = 0 ORDER BY 1";
    assert_eq!(
        found_there(&mut raw, guards),
        [
            "fact fact_is_not_deleted",
            "fact fact_is_not_emptied",
            "fact fact_is_not_updated",
            "facts_from_0 fact_is_not_emptied",
            "kept_file kept_file_is_not_deleted",
            "kept_file kept_file_is_not_emptied",
            "kept_file kept_file_is_not_updated",
            "right_change right_change_is_not_deleted",
            "right_change right_change_is_not_emptied",
            "right_change right_change_is_not_updated",
        ]
    );
    // NUMERIC and the floating types all know NaN.
    let loose = "SELECT table_name || '.' || column_name FROM information_schema.columns \
         WHERE table_schema = current_schema() AND data_type NOT IN ('bigint', 'text', 'bytea')";
    assert_eq!(found_there(&mut raw, loose), NOTHING);
    // Text is found and ordered by its bytes, as SQLite does.
    let ordered_otherwise = "SELECT table_name || '.' || column_name FROM information_schema.columns \
         WHERE table_schema = current_schema() AND data_type = 'text' AND collation_name IS DISTINCT FROM 'C'";
    assert_eq!(found_there(&mut raw, ordered_otherwise), NOTHING);
    for emptied in ["TRUNCATE fact CASCADE", "TRUNCATE facts_from_0 CASCADE"] {
        assert!(raw.batch_execute(emptied).is_err(), "{emptied}");
    }
}

#[test]
fn both_engines_have_the_same_tables_columns_and_kinds() {
    let Some(cluster) = cluster() else { return };
    let (_folder, file) = file();
    let mut server = server(cluster);
    let columns = "SELECT t.name || '.' || c.name || ' ' || CASE c.type WHEN 'INTEGER' THEN 'bigint' \
         WHEN 'BLOB' THEN 'bytea' ELSE lower(c.type) END || ' ' || (c.\"notnull\" OR c.pk > 0) \
         FROM pragma_table_list t JOIN pragma_table_info(t.name) c \
         WHERE t.schema = 'main' AND t.name NOT LIKE 'sqlite_%' ORDER BY 1";
    let there = "SELECT table_name || '.' || column_name || ' ' || data_type || ' ' || \
         CASE is_nullable WHEN 'NO' THEN 1 ELSE 0 END FROM information_schema.columns \
         WHERE table_schema = current_schema() AND table_name <> 'fact_place' \
         AND table_name NOT LIKE 'facts!_from!_%' ESCAPE '!' ORDER BY 1";
    let mut there = found_there(&mut server, there);
    there.sort();
    assert_eq!(found(&file, columns), there);
    // The same kinds of fact: the quoted words of the two constraints.
    let of_file = found(&file, "SELECT sql FROM sqlite_schema WHERE name = 'fact' AND type = 'table'");
    let of_server = found_there(
        &mut server,
        "SELECT pg_get_constraintdef(oid) FROM pg_constraint WHERE conname = 'fact_kind_check' \
         AND conrelid = 'fact'::regclass",
    );
    let words =
        |text: &str| -> BTreeSet<String> { text.split('\'').skip(1).step_by(2).map(str::to_owned).collect() };
    let mut kinds = words(&of_file[0]);
    for other in ["instant", "day", "bench", "import", "program"] {
        assert!(kinds.remove(other), "{other}");
    }
    assert_eq!(kinds, words(&of_server[0]));
}

/// Numbers live in the payload, which is JSON: there NaN and infinity cannot
/// even be written.
#[test]
fn a_number_that_is_none_is_refused_by_the_table() {
    let insert = |payload: &str, id: &str| {
        format!(
            "INSERT INTO fact (seq, id, machine_no, machine_seq, kind, happened_at, resolution, sequence, recorded_at, \
             person, source, payload, hash) VALUES (1, {id}, 1, 1, 'held', 0, 'instant', 0, 0, 'x', 'bench', \
             '{payload}', {id} || {id})"
        )
    };
    let (_folder, file) = file();
    let mut servers: Vec<_> = cluster().map(server).into_iter().collect();
    for refused in ["{\"n\":NaN}", "{\"n\":Infinity}", "{\"n\":-Infinity}", "{n:1}", "12 apples"] {
        assert!(file.execute_batch(&insert(refused, "zeroblob(16)")).is_err(), "{refused}");
        for server in &mut servers {
            let sql = insert(refused, "decode(repeat('00', 16), 'hex')");
            let error = server.batch_execute(&sql).unwrap_err();
            let said = error.as_db_error().unwrap().message().to_owned();
            assert!(said.contains("json") || said.contains("payload"), "{refused}: {said}");
        }
    }
    for server in &mut servers {
        server.batch_execute(&insert("{\"n\":1.5}", "decode(repeat('00', 16), 'hex')")).unwrap();
    }
}

/// The first fact of the next ten million goes into a block of its own.
#[test]
fn a_block_is_made_with_its_first_fact() {
    let Some(cluster) = cluster() else { return };
    let url = cluster.new_database();
    let place = Place::Server(url.clone());
    let mut store = Store::create_with_machine(&place, MACHINE).unwrap();
    store.append(&registrations()).unwrap();
    let mut raw = postgres::Client::connect(&url, postgres::NoTls).unwrap();
    // As if ten million had come already.
    raw.batch_execute(
        "SET session_replication_role = replica; UPDATE fact SET seq = 9999998 WHERE seq = 6; \
         UPDATE fact_place SET seq = 9999998 WHERE seq = 6",
    )
    .unwrap();
    let facts: Vec<_> = (10..14).map(|n| held(n, end(0, 0))).collect();
    assert_eq!(store.append(&facts).unwrap(), [9_999_999, 10_000_000, 10_000_001, 10_000_002]);
    let blocks = "SELECT tableoid::regclass || ' ' || count(*) FROM fact GROUP BY tableoid ORDER BY 1";
    assert_eq!(found_there(&mut raw, blocks), ["facts_from_0 7", "facts_from_10000000 3"]);
    assert_eq!(store.fact(facts[2].id).unwrap().map(|f| f.seq), Some(10_000_001));
    assert_eq!(store.facts_of_end(end(0, 0)).unwrap().len(), 5);
    assert!(
        raw.batch_execute("SET session_replication_role = DEFAULT; TRUNCATE facts_from_10000000 CASCADE")
            .is_err()
    );
}
