//! Column mappings kept for the next import.

use crate::{Store, StoreError};
use rusqlite::OptionalExtension as _;

impl Store {
    /// Keeps a mapping under a name, in place of an earlier one.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn save_mapping(&mut self, name: &str, toml: &str) -> Result<(), StoreError> {
        self.connection
            .prepare_cached(
                "INSERT INTO saved_mapping (name, toml) VALUES (?1, ?2)
                 ON CONFLICT (name) DO UPDATE SET toml = excluded.toml",
            )?
            .execute((name, toml))?;
        Ok(())
    }

    /// The mapping of that name.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn mapping(&self, name: &str) -> Result<Option<String>, StoreError> {
        Ok(self
            .connection
            .prepare_cached("SELECT toml FROM saved_mapping WHERE name = ?1")?
            .query_row([name], |row| row.get(0))
            .optional()?)
    }

    /// Names of the mappings kept.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn mappings(&self) -> Result<Vec<String>, StoreError> {
        let mut statement = self.connection.prepare_cached("SELECT name FROM saved_mapping ORDER BY name")?;
        let names = statement.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
        Ok(names)
    }
}
