//! What the figures were taken on, and what the lab takes up.

use crate::Outcome;
use matewell_store::Place;
use postgres::{Client, NoTls};
use std::fs;

fn line_of(file: &str, name: &str) -> Option<u64> {
    let text = fs::read_to_string(file).ok()?;
    let line = text.lines().find(|line| line.starts_with(name))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

/// Load average of the last minute.
pub(crate) fn load() -> String {
    fs::read_to_string("/proc/loadavg")
        .ok()
        .and_then(|text| text.split_whitespace().next().map(str::to_owned))
        .unwrap_or_else(|| "unknown".to_owned())
}

/// Cores, memory, and how the engine keeps what is answered.
pub(crate) fn described(place: &Place) -> Outcome<String> {
    let cores = std::thread::available_parallelism()?.get();
    let memory = line_of("/proc/meminfo", "MemTotal:").unwrap_or(0) / 1_048_576;
    let engine = match place {
        Place::File(_) => "file, WAL, synchronous=FULL".to_owned(),
        Place::Server(url) => {
            let mut client = Client::connect(url, NoTls)?;
            let mut said = "database".to_owned();
            for name in
                ["server_version", "fsync", "synchronous_commit", "full_page_writes", "shared_buffers"]
            {
                let value: String = client.query_one(&format!("SHOW {name}"), &[])?.get(0);
                said += &format!(", {name}={value}");
            }
            said
        }
    };
    Ok(format!("{cores} cores, {memory} GB, {engine}"))
}

/// Bytes on disk: the file with its log, or the database.
pub(crate) fn on_disk(place: &Place) -> Outcome<u64> {
    match place {
        Place::File(path) => {
            let mut beside = path.clone().into_os_string();
            beside.push("-wal");
            Ok(fs::metadata(path)?.len() + fs::metadata(beside).map_or(0, |found| found.len()))
        }
        Place::Server(url) => {
            let size: i64 = Client::connect(url, NoTls)?
                .query_one("SELECT pg_database_size(current_database())", &[])?
                .get(0);
            Ok(size.try_into()?)
        }
    }
}

/// Bytes of the large tables, heap and indexes apart.
pub(crate) fn tables(place: &Place) -> Outcome<Vec<(String, u64, u64)>> {
    let Place::Server(url) = place else { return Ok(Vec::new()) };
    let sql = "SELECT CASE WHEN c.relname LIKE 'facts\\_from%' THEN 'fact' ELSE c.relname::text END, \
             sum(pg_table_size(c.oid))::bigint, sum(pg_indexes_size(c.oid))::bigint \
         FROM pg_class c WHERE c.relkind = 'r' AND c.relnamespace = current_schema()::regnamespace \
         GROUP BY 1 HAVING sum(pg_total_relation_size(c.oid)) > 1000000 ORDER BY 2 DESC";
    let mut found = Vec::new();
    for row in Client::connect(url, NoTls)?.query(sql, &[])? {
        found.push((row.get(0), row.get::<_, i64>(1).try_into()?, row.get::<_, i64>(2).try_into()?));
    }
    Ok(found)
}

/// The most memory this program had, in megabytes.
pub(crate) fn own_memory() -> u64 {
    line_of("/proc/self/status", "VmHWM:").unwrap_or(0) / 1024
}

/// Memory of the sessions of a database now, shared pages counted in part, in
/// megabytes; 0 where it cannot be read.
pub(crate) fn memory_of_sessions(place: &Place) -> u64 {
    let Place::Server(url) = place else { return 0 };
    let Ok(mut client) = Client::connect(url, NoTls) else { return 0 };
    let found = client.query("SELECT pid FROM pg_stat_activity", &[]).unwrap_or_default();
    let of = |pid: i32| line_of(&format!("/proc/{pid}/smaps_rollup"), "Pss:").unwrap_or(0);
    found.iter().map(|row| of(row.get(0))).sum::<u64>() / 1024
}
