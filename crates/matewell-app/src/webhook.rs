//! Telling an address of facts: what is sent, how it is signed, when to try
//! again. Sending itself is the door's.

use crate::{
    AppError, Workshop,
    error::bad,
    people::{change, hex, new_secret, new_short_name},
};
use matewell_lab::Moment;
use matewell_store::WebhookRow;
use matewell_wire::{NewWebhookJson, WebhookJson, WebhooksJson, moment_text};
use ring::hmac;

/// Most facts in one body.
const MOST_FACTS: u64 = 100;
/// Wait after the first failed attempt, in seconds; doubled after each.
const FIRST_WAIT: i64 = 10;
/// Longest wait, in seconds.
const LONGEST_WAIT: i64 = 3600;
const SECOND: i64 = 1_000_000;

/// What is to be sent to an address.
#[derive(Debug, Clone)]
pub struct Telling {
    /// The address.
    pub url: String,
    /// The bytes.
    pub body: String,
    /// Header with the moment of sending, in seconds since 1970.
    pub timestamp: String,
    /// Header with the signature.
    pub signature: String,
    row: WebhookRow,
    last_seq: u64,
}

/// HMAC-SHA-256 (RFC 2104) over the time, a dot and the body.
fn signature(secret: &str, timestamp: &str, body: &str) -> String {
    let key = hmac::Key::new(hmac::HMAC_SHA256, secret.as_bytes());
    let tag = hmac::sign(&key, format!("{timestamp}.{body}").as_bytes());
    format!("sha256={}", hex(tag.as_ref()))
}

fn checked(url: &str) -> Result<String, AppError> {
    let url = url.trim();
    let rest = url.strip_prefix("https://").or_else(|| url.strip_prefix("http://"));
    let host = rest.map(|rest| rest.split(['/', '?', '#']).next().unwrap_or_default());
    let fits = host.is_some_and(|host| !host.is_empty() && !host.contains('@'))
        && url.len() <= 2000
        && url.chars().all(|c| c.is_ascii_graphic() && c != '#');
    if fits {
        Ok(url.to_owned())
    } else {
        Err(bad(
            "url",
            format!("expected http:// or https:// with a host and no name or password, found \"{url}\""),
        ))
    }
}

impl Workshop {
    /// Tells an address of every fact entered from now on.
    ///
    /// # Errors
    ///
    /// What is no address.
    pub fn new_webhook(&mut self, url: &str, by: &str, now: Moment) -> Result<NewWebhookJson, AppError> {
        let row = WebhookRow {
            id: new_short_name()?,
            url: checked(url)?,
            secret: new_secret()?,
            created_at: now,
            ended_at: None,
            told_seq: self.store.head()?.map_or(0, |(seq, _)| seq),
            told_at: None,
            failed: 0,
            next_at: now,
            last_error: None,
        };
        let note = change(by, "webhook-made", "", format!("{}: {}", row.id, row.url), now);
        self.store.put_webhook(&row, &note)?;
        Ok(NewWebhookJson { id: row.id, secret: row.secret })
    }

    /// Addresses that are or were told.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn webhooks(&self) -> Result<WebhooksJson, AppError> {
        let shown = |row: WebhookRow| WebhookJson {
            id: row.id,
            url: row.url,
            made_at: moment_text(row.created_at),
            state: if row.ended_at.is_some() { "ended" } else { "in-force" }.to_owned(),
            told: row.told_seq,
            told_at: row.told_at.map(moment_text),
            failed: row.failed,
            next_at: (row.ended_at.is_none() && row.failed > 0).then(|| moment_text(row.next_at)),
            last_error: row.last_error,
        };
        Ok(WebhooksJson { webhooks: self.store.webhooks()?.into_iter().map(shown).collect() })
    }

    /// Tells an address no more.
    ///
    /// # Errors
    ///
    /// A short name of none that is told.
    pub fn end_webhook(&mut self, id: &str, by: &str, now: Moment) -> Result<(), AppError> {
        let note = change(by, "webhook-ended", "", id.trim(), now);
        if self.store.end_webhook(id.trim(), now, &note)? {
            Ok(())
        } else {
            Err(AppError::UnknownTag { what: "an address that is told", found: id.trim().to_owned() })
        }
    }

    /// What to send next, and where; nothing when every address knows all.
    ///
    /// # Errors
    ///
    /// A store that cannot be read.
    pub fn to_tell(&self, now: Moment) -> Result<Option<Telling>, AppError> {
        let Some(row) = self.store.webhook_to_tell(now)? else { return Ok(None) };
        let facts = self.store.linked_facts(row.told_seq, MOST_FACTS)?;
        let Some(last_seq) = facts.last().map(|(seq, _)| *seq) else { return Ok(None) };
        let mut lines = Vec::with_capacity(facts.len());
        for (_, linked) in &facts {
            let line = serde_json::to_string(&linked.to_json()?);
            lines.push(line.map_err(|e| AppError::Conflict(format!("a fact could not be written: {e}")))?);
        }
        let body = format!(
            "{{\"webhook\":\"{}\",\"after\":{},\"up_to\":{last_seq},\"facts\":[{}]}}",
            row.id,
            row.told_seq,
            lines.join(",")
        );
        let timestamp = (now.microseconds() / SECOND).to_string();
        let signature = signature(&row.secret, &timestamp, &body);
        Ok(Some(Telling { url: row.url.clone(), body, timestamp, signature, row, last_seq }))
    }

    /// Notes how it went: the address took it, or what was wrong. The same
    /// facts are sent again until they are taken, later and later, at last once
    /// an hour.
    ///
    /// # Errors
    ///
    /// A store that cannot be written.
    pub fn told(
        &mut self,
        telling: &Telling,
        result: Result<(), String>,
        now: Moment,
    ) -> Result<(), AppError> {
        let mut row = telling.row.clone();
        match result {
            Ok(()) => {
                (row.told_seq, row.told_at, row.failed, row.last_error) =
                    (telling.last_seq, Some(now), 0, None);
                row.next_at = now;
            }
            Err(error) => {
                let wait =
                    FIRST_WAIT.checked_shl(row.failed.min(10)).unwrap_or(LONGEST_WAIT).min(LONGEST_WAIT);
                row.failed = row.failed.saturating_add(1);
                row.last_error = Some(error.chars().take(400).collect());
                row.next_at = Moment::from_microseconds(now.microseconds().saturating_add(wait * SECOND));
            }
        }
        Ok(self.store.note_telling(&row)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Said, UuidV7};

    fn at(seconds: i64) -> Moment {
        Moment::from_microseconds((1_800_000_000 + seconds) * SECOND)
    }

    /// RFC 4231 section 4.3 (test case 2): key "Jefe", the data cut at a dot
    /// would differ, so the primitive is checked by itself.
    #[test]
    fn the_hash_is_that_of_rfc_4231() {
        let key = hmac::Key::new(hmac::HMAC_SHA256, b"Jefe");
        let tag = hmac::sign(&key, b"what do ya want for nothing?");
        assert_eq!(hex(tag.as_ref()), "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843");
    }

    #[test]
    fn facts_are_sent_again_until_they_are_taken_and_none_is_left_out() {
        let mut shop = Workshop::in_memory(Box::new(UuidV7::default())).unwrap();
        shop.demo(at(0)).unwrap();
        let made = shop.new_webhook("https://hooks.lab.example/in", "Mara Lind", at(1)).unwrap();
        assert!(shop.to_tell(at(2)).unwrap().is_none(), "what was before is not told");
        let said = Said::at_the_bench("Pim Aster");
        shop.clean("CB-014A", None, &said, at(2)).unwrap();
        let first = shop.to_tell(at(3)).unwrap().unwrap();
        assert!(
            first.body.contains("\"kind\":\"cleaned\"") && first.body.contains("sha256"),
            "{}",
            first.body
        );
        assert_eq!(first.signature, signature(&made.secret, &first.timestamp, &first.body));
        shop.told(&first, Err("connection refused".to_owned()), at(3)).unwrap();
        assert!(shop.to_tell(at(12)).unwrap().is_none(), "ten seconds");
        shop.clean("CB-014B", None, &said, at(12)).unwrap();
        let again = shop.to_tell(at(13)).unwrap().unwrap();
        assert_eq!(again.body.matches("\"kind\":\"cleaned\"").count(), 2, "what came meanwhile is with it");
        for n in 0..12 {
            let telling = shop.to_tell(at(10_000 * (n + 1))).unwrap().unwrap();
            shop.told(&telling, Err("503".to_owned()), at(10_000 * (n + 1))).unwrap();
        }
        let shown = shop.webhooks().unwrap().webhooks.remove(0);
        assert_eq!((shown.failed, shown.last_error.as_deref()), (13, Some("503")));
        assert_eq!(shown.next_at, Some(moment_text(at(123_600))), "at last once an hour");
        let last = shop.to_tell(at(200_000)).unwrap().unwrap();
        shop.told(&last, Ok(()), at(200_000)).unwrap();
        assert!(shop.to_tell(at(200_001)).unwrap().is_none());
        shop.clean("CB-014A", None, &said, at(200_002)).unwrap();
        shop.end_webhook(&made.id, "Mara Lind", at(200_003)).unwrap();
        assert!(shop.to_tell(at(200_004)).unwrap().is_none(), "ended");
        assert!(shop.end_webhook(&made.id, "Mara Lind", at(200_005)).is_err());
        for wrong in
            ["", "ftp://x", "https://", "https://a:b@c/", "http://x/ y", "https://x/#y", "file:///etc"]
        {
            assert!(shop.new_webhook(wrong, "Mara Lind", at(0)).is_err(), "{wrong}");
        }
    }
}
