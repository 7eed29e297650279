//! Column mappings kept for the next import.

use crate::{Store, StoreError};

impl Store {
    /// Keeps a mapping under a name, in place of an earlier one.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn save_mapping(&mut self, name: &str, toml: &str) -> Result<(), StoreError> {
        self.connection.run(
            "INSERT INTO saved_mapping (name, toml) VALUES (?1, ?2)
                 ON CONFLICT (name) DO UPDATE SET toml = excluded.toml",
            (name, toml),
        )?;
        Ok(())
    }

    /// The mapping of that name.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn mapping(&self, name: &str) -> Result<Option<String>, StoreError> {
        Ok(self.connection.one("SELECT toml FROM saved_mapping WHERE name = ?1", [name], |row| row.get(0))?)
    }

    /// Names of the mappings kept.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn mappings(&self) -> Result<Vec<String>, StoreError> {
        Ok(self.connection.all("SELECT name FROM saved_mapping ORDER BY name", (), |row| row.get(0))?)
    }
}
