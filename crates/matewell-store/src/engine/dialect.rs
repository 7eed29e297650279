//! The few words that PostgreSQL says in another way.

/// The text for PostgreSQL of a statement written for SQLite.
pub(super) fn for_postgres(sql: &str) -> String {
    let plain = sql
        .replace("INDEXED BY fact_day", "")
        // The log lies in blocks there, and ids in a table of their own.
        .replace("FROM fact WHERE id", "FROM fact_place WHERE id")
        .replace("WHERE f.id = ?1", "WHERE f.seq = (SELECT k.seq FROM fact_place k WHERE k.id = ?1)")
        // SQLite keeps the order of a CROSS JOIN; PostgreSQL finds its own.
        .replace("CROSS JOIN", "JOIN")
        .replace("instr(", "strpos(");
    let mut text = String::with_capacity(plain.len());
    let mut characters = plain.chars().peekable();
    while let Some(character) = characters.next() {
        let number_follows = characters.peek().is_some_and(char::is_ascii_digit);
        text.push(if character == '?' && number_follows { '$' } else { character });
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_differs_is_changed() {
        assert_eq!(
            for_postgres(
                "SELECT instr(a, ?1) FROM x INDEXED BY fact_day CROSS JOIN y ON y.a = ?12 OR b = '?'"
            ),
            "SELECT strpos(a, $1) FROM x  JOIN y ON y.a = $12 OR b = '?'"
        );
    }
}
