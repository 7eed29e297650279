//! Addresses that are told of facts, and how far they were.

use crate::{
    RightChange, Store, StoreError,
    engine::{Answer, Row},
    people::note,
};
use matewell_lab::Moment;

/// An address and how far it was told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WebhookRow {
    /// Short name.
    pub id: String,
    /// The address.
    pub url: String,
    /// Key of the signatures.
    pub secret: String,
    /// Since when.
    pub created_at: Moment,
    /// When it was ended.
    pub ended_at: Option<Moment>,
    /// Number of the last fact it took.
    pub told_seq: u64,
    /// When it last took something.
    pub told_at: Option<Moment>,
    /// Attempts that failed since.
    pub failed: u32,
    /// When the next attempt is made.
    pub next_at: Moment,
    /// What the last attempt said.
    pub last_error: Option<String>,
}

const WEBHOOK: &str = "id, url, secret, created_at, ended_at, told_seq, told_at, failed, next_at, last_error";

fn webhook(row: &Row<'_>) -> Answer<WebhookRow> {
    Ok(WebhookRow {
        id: row.get(0)?,
        url: row.get(1)?,
        secret: row.get(2)?,
        created_at: Moment::from_microseconds(row.get(3)?),
        ended_at: row.get::<Option<i64>>(4)?.map(Moment::from_microseconds),
        told_seq: crate::row::number(row.get(5)?),
        told_at: row.get::<Option<i64>>(6)?.map(Moment::from_microseconds),
        failed: u32::try_from(row.get::<i64>(7)?).unwrap_or(u32::MAX),
        next_at: Moment::from_microseconds(row.get(8)?),
        last_error: row.get(9)?,
    })
}

impl Store {
    /// Addresses that are or were told, newest first.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn webhooks(&self) -> Result<Vec<WebhookRow>, StoreError> {
        let sql = format!("SELECT {WEBHOOK} FROM webhook ORDER BY created_at DESC, id");
        Ok(self.connection.all(&sql, (), webhook)?)
    }

    /// The address to be told next, if one waits for facts after its last.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn webhook_to_tell(&self, now: Moment) -> Result<Option<WebhookRow>, StoreError> {
        let sql = format!(
            "SELECT {WEBHOOK} FROM webhook
             WHERE ended_at IS NULL AND next_at <= ?1 AND told_seq < (SELECT coalesce(max(seq), 0) FROM fact)
             ORDER BY next_at, id LIMIT 1"
        );
        Ok(self.connection.one(&sql, [now.microseconds()], webhook)?)
    }

    /// Adds an address.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn put_webhook(&mut self, new: &WebhookRow, change: &RightChange) -> Result<(), StoreError> {
        self.in_a_change(|connection| {
            connection.run(
                "INSERT INTO webhook (id, url, secret, created_at, told_seq, failed, next_at)
                 VALUES (?1, ?2, ?3, ?4, ?5, 0, ?6)",
                (
                    &new.id,
                    &new.url,
                    &new.secret,
                    new.created_at.microseconds(),
                    crate::row::integer(new.told_seq),
                    new.next_at.microseconds(),
                ),
            )?;
            note(connection, change)
        })
    }

    /// Notes how an attempt went.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn note_telling(&mut self, after: &WebhookRow) -> Result<(), StoreError> {
        self.in_a_change(|connection| {
            connection.run(
                "UPDATE webhook SET told_seq = ?2, told_at = ?3, failed = ?4, next_at = ?5, last_error = ?6 WHERE id = ?1",
                (
                    &after.id,
                    crate::row::integer(after.told_seq),
                    after.told_at.map(Moment::microseconds),
                    i64::from(after.failed),
                    after.next_at.microseconds(),
                    &after.last_error,
                ),
            )?;
            Ok(())
        })
    }

    /// Tells an address no more. Says whether it was told until now.
    ///
    /// # Errors
    ///
    /// [`StoreError::Database`].
    pub fn end_webhook(&mut self, id: &str, at: Moment, change: &RightChange) -> Result<bool, StoreError> {
        self.in_a_change(|connection| {
            let ended = connection.run(
                "UPDATE webhook SET ended_at = ?2 WHERE id = ?1 AND ended_at IS NULL",
                (id, at.microseconds()),
            )?;
            if ended > 0 {
                note(connection, change)?;
            }
            Ok(ended > 0)
        })
    }
}
