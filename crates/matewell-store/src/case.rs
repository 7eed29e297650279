//! The facts of cases.

use crate::{
    Store, StoreError,
    row::{COLUMNS, FROM},
};
use matewell_lab::{Fact, FactId};

impl Store {
    /// The facts that opened a case, in order of arrival, as entered: what a
    /// correction says about one of them is found with [`Store::facts_of_case`].
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn case_openings(&self) -> Result<Vec<Fact>, StoreError> {
        self.facts(&format!("SELECT {COLUMNS} FROM {FROM} WHERE f.kind = 'case-opened' ORDER BY f.seq"), ())
    }

    /// The fact that opened a case, the later facts of the case, and the
    /// corrections of any of them, in order of arrival. Facts about its ends
    /// are found with [`Store::facts_of_end`].
    ///
    /// # Errors
    ///
    /// As [`Store::fact`].
    pub fn facts_of_case(&self, case: FactId) -> Result<Vec<Fact>, StoreError> {
        self.facts(
            &format!(
                "WITH RECURSIVE told (seq) AS (
                     SELECT seq FROM fact WHERE id = ?1
                     UNION
                     SELECT a.seq FROM told t JOIN fact_about a ON a.earlier_seq = t.seq
                 )
                 SELECT {COLUMNS} FROM told t JOIN fact f ON f.seq = t.seq JOIN machine m ON m.no = f.machine_no
                 ORDER BY f.seq"
            ),
            [case.bytes()],
        )
    }
}
