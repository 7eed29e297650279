//! The same lab as three plain spreadsheets, as a workshop would have kept it
//! before: comma separated, one header line, pin depths in micrometres with a word.

use crate::DemoLab;
use matewell_lab::{
    EndId, Fact, FactBody, ItemId, MICROSECONDS_PER_DAY, Moment, PinPosition, Resolution, standing_facts,
};
use std::collections::BTreeMap;

/// The register: a line for every end, and one for every item without ends.
#[must_use]
pub fn register_csv(lab: &DemoLab) -> String {
    let mut table = Table::new(&[
        "Item",
        "Kind",
        "Description",
        "Serial number",
        "Location",
        "Cost",
        "Currency",
        "End tag",
        "Interface",
        "Sex",
        "Grade",
        "Material",
        "Slotted",
    ]);
    for fact in &lab.facts {
        let FactBody::Registered(registered) = &fact.body else { continue };
        let item = &registered.item;
        let (cost, currency) = match &item.cost {
            Some(cost) => {
                let (whole, rest) = (cost.hundredths / 100, cost.hundredths % 100);
                (format!("{whole}.{rest:02}"), cost.currency.clone())
            }
            None => (String::new(), String::new()),
        };
        let of_item = [
            item.tag.clone(),
            item.kind.word().to_owned(),
            item.description.clone(),
            item.serial.clone().unwrap_or_default(),
            item.location.clone().unwrap_or_default(),
            cost,
            currency,
        ];
        if registered.ends.is_empty() {
            table.line(of_item.iter().cloned().chain((0..6).map(|_| String::new())));
        }
        for end in &registered.ends {
            let of_end = [
                end.tag.clone(),
                end.interface.clone(),
                end.sex.word().to_owned(),
                known(end.grade.word()),
                known(end.body.word()),
                known(end.slots.word()),
            ];
            table.line(of_item.iter().cloned().chain(of_end));
        }
    }
    table.text
}

/// Nobody writes "unknown" into a spreadsheet.
fn known(word: &str) -> String {
    if word == "unknown" { String::new() } else { word.to_owned() }
}

/// All mates that stand, in the order in which they happened.
#[must_use]
pub fn mates_csv(lab: &DemoLab) -> String {
    let labels = Labels::of(&lab.facts);
    let mut table = Table::new(&["Date", "Time", "End 1", "End 2", "Wrench", "Person"]);
    for fact in standing(lab) {
        let FactBody::Mated(mated) = &fact.body else { continue };
        let (date, time) = date_and_time(&fact);
        table.line([
            date,
            time,
            labels.end(mated.a),
            labels.end(mated.b),
            mated.wrench.map(|wrench| labels.item(wrench)).unwrap_or_default(),
            fact.person.clone(),
        ]);
    }
    table.text
}

/// All gaugings that stand, in the order in which they happened.
#[must_use]
pub fn gaugings_csv(lab: &DemoLab) -> String {
    let labels = Labels::of(&lab.facts);
    let mut table = Table::new(&[
        "Date",
        "Time",
        "End",
        "Gauge",
        "Pin depth 1 (µm)",
        "Pin depth 2 (µm)",
        "Pin depth 3 (µm)",
        "Person",
    ]);
    for fact in standing(lab) {
        let FactBody::Gauged(gauged) = &fact.body else { continue };
        let (date, time) = date_and_time(&fact);
        let reading = |index: usize| gauged.readings.get(index).copied().map(in_words).unwrap_or_default();
        table.line([
            date,
            time,
            labels.end(gauged.end),
            gauged.gauge.map(|gauge| labels.item(gauge)).unwrap_or_default(),
            reading(0),
            reading(1),
            reading(2),
            fact.person.clone(),
        ]);
    }
    table.text
}

fn standing(lab: &DemoLab) -> Vec<Fact> {
    standing_facts(&lab.facts, Moment::from_microseconds(i64::MAX))
}

/// `12.5 recessed`. Readings are whole tenths, so one decimal loses nothing.
fn in_words(position: PinPosition) -> String {
    format!("{:.1} {}", position.distance().micrometres(), position.word())
}

/// Labels by identity.
struct Labels {
    ends: BTreeMap<EndId, String>,
    items: BTreeMap<ItemId, String>,
}

impl Labels {
    fn of(facts: &[Fact]) -> Self {
        let mut labels = Self { ends: BTreeMap::new(), items: BTreeMap::new() };
        for fact in facts {
            if let FactBody::Registered(registered) = &fact.body {
                labels.items.insert(registered.item.id, registered.item.tag.clone());
                labels.ends.extend(registered.ends.iter().map(|end| (end.id, end.tag.clone())));
            }
        }
        labels
    }

    fn end(&self, id: EndId) -> String {
        self.ends.get(&id).cloned().unwrap_or_default()
    }

    fn item(&self, id: ItemId) -> String {
        self.items.get(&id).cloned().unwrap_or_default()
    }
}

/// Lines of fields, quoted as RFC 4180, section 2, asks, ended by CR LF.
struct Table {
    text: String,
}

impl Table {
    fn new(header: &[&str]) -> Self {
        let mut table = Self { text: String::new() };
        table.line(header.iter().map(|name| (*name).to_owned()));
        table
    }

    fn line(&mut self, fields: impl IntoIterator<Item = String>) {
        for (index, field) in fields.into_iter().enumerate() {
            if index > 0 {
                self.text.push(',');
            }
            if field.contains([',', '"', '\r', '\n']) {
                self.text.push('"');
                self.text.push_str(&field.replace('"', "\"\""));
                self.text.push('"');
            } else {
                self.text.push_str(&field);
            }
        }
        self.text.push_str("\r\n");
    }
}

/// ISO 8601 date and time of day in UTC; no time where only the day is known.
fn date_and_time(fact: &Fact) -> (String, String) {
    let moment = fact.happened_at;
    let day = moment.microseconds().div_euclid(MICROSECONDS_PER_DAY);
    let second = moment.microseconds().rem_euclid(MICROSECONDS_PER_DAY) / 1_000_000;
    let (year, month, day) = civil_date(day);
    let (hour, minute, second) = (second / 3600, second / 60 % 60, second % 60);
    let date = format!("{year:04}-{month:02}-{day:02}");
    match fact.resolution {
        Resolution::Instant => (date, format!("{hour:02}:{minute:02}:{second:02}")),
        Resolution::Day => (date, String::new()),
    }
}

/// Year, month and day of a number of days since 1970-01-01, in the proleptic
/// Gregorian calendar. Years are counted from 1 March, so that the leap day is
/// the last of its year and the months before it keep their lengths.
fn civil_date(days_since_1970: i64) -> (i64, i64, i64) {
    const DAYS_IN_400_YEARS: i64 = 146_097;
    // From 0000-03-01 to 1970-01-01.
    let days = days_since_1970.saturating_add(719_468);
    let (era, day) = (days.div_euclid(DAYS_IN_400_YEARS), days.rem_euclid(DAYS_IN_400_YEARS));
    let year = (day - day / 1_460 + day / 36_524 - day / 146_096) / 365;
    let day_of_year = day - (365 * year + year / 4 - year / 100);
    // Five months from March have 153 days, and so have five from August.
    let month = (5 * day_of_year + 2) / 153;
    let day_of_month = day_of_year - (153 * month + 2) / 5 + 1;
    let (month, carry) = if month < 10 { (month + 3, 0) } else { (month - 9, 1) };
    (year + era * 400 + carry, month, day_of_month)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Days counted one by one, with the leap years written out.
    #[test]
    fn the_calendar_agrees_with_counting() {
        let leap = |y: i64| (y % 4 == 0 && y % 100 != 0) || y % 400 == 0;
        let (mut year, mut month, mut day) = (1970, 1, 1);
        for number in 0..60_000 {
            assert_eq!(civil_date(number), (year, month, day));
            let length = match month {
                4 | 6 | 9 | 11 => 30,
                2 => 28 + i64::from(leap(year)),
                _ => 31,
            };
            day += 1;
            if day > length {
                (month, day) = (month + 1, 1);
            }
            if month > 12 {
                (year, month) = (year + 1, 1);
            }
        }
        assert_eq!(civil_date(-1), (1969, 12, 31));
    }

    #[test]
    fn fields_are_quoted_only_when_they_must_be() {
        let mut table = Table::new(&["a", "b"]);
        table.line(["1,5".to_owned(), "3 \"in\"".to_owned()]);
        assert_eq!(table.text, "a,b\r\n\"1,5\",\"3 \"\"in\"\"\"\r\n");
    }
}
