//! `matewell register`, `amend`, `item`, `kept`, `policy`: the register and
//! the lab's policy.

use crate::{DONE, cli::When, run::Session, show::Out};
use clap::Args;
use matewell_app::AppError;
use matewell_lab::Moment;
use matewell_wire::{
    EndAsked, EndCaseJson, EndKeptJson, EndLookJson, EndSweepJson, ItemAsked, ItemKeptJson, ItemPageJson,
    LookGuideJson, PolicyJson,
};
use std::io::{self, Write};

#[derive(Debug, Args)]
pub(crate) struct Written {
    /// Label of the item
    tag: String,
    /// cable, adapter, attenuator, calibration-standard, instrument, device-under-test, gauge, gauge-master, torque-wrench, kit or other
    #[arg(long)]
    kind: String,
    /// An end, as label,interface,half and then any of grade, body, slots, static, power, bias; may be given several times
    #[arg(long, value_name = "LABEL,INTERFACE,HALF")]
    end: Vec<String>,
    /// In your words
    #[arg(long)]
    description: Option<String>,
    /// Type designation
    #[arg(long)]
    model: Option<String>,
    /// Serial number
    #[arg(long)]
    serial: Option<String>,
    /// Usual place
    #[arg(long)]
    location: Option<String>,
    /// What a new one would cost, for example 240.00
    #[arg(long, requires = "currency")]
    cost: Option<String>,
    /// Three letters, for example EUR
    #[arg(long)]
    currency: Option<String>,
    /// Of a gauge: the interface it gauges
    #[arg(long)]
    gauges: Option<String>,
    /// Of a gauge: screw-on, push-on, caliper, go-no-go or eye
    #[arg(long)]
    method: Option<String>,
    /// Of a gauge: standard uncertainty by its certificate, for example 1.3um
    #[arg(long)]
    standard_uncertainty: Option<String>,
    /// Of a gauge: standard deviation of one re-seated reading
    #[arg(long)]
    repeatability: Option<String>,
    /// Of a gauge: label of its master
    #[arg(long)]
    master: Option<String>,
    /// Of a wrench: the torque it is set to, for example 0.9N.m
    #[arg(long)]
    set_point: Option<String>,
    /// Of a wrench: permissible deviation in percent
    #[arg(long)]
    permissible_percent: Option<String>,
    #[command(flatten)]
    when: When,
}

#[derive(Debug, Args)]
pub(crate) struct Amend {
    /// Label of the item on record
    item: String,
    /// Why
    #[arg(long)]
    because: String,
    #[command(flatten)]
    to: Written,
}

fn end(text: &str) -> Result<EndAsked, AppError> {
    let bad = |message: String| AppError::Field { field: "--end", message };
    let parts: Vec<&str> = text.split(',').map(str::trim).collect();
    let [tag, interface, sex, rest @ ..] = parts.as_slice() else {
        return Err(bad(format!("expected LABEL,INTERFACE,HALF, found \"{text}\"")));
    };
    let mut end = EndAsked {
        tag: (*tag).to_owned(),
        interface: (*interface).to_owned(),
        sex: (*sex).to_owned(),
        ..EndAsked::default()
    };
    for word in rest {
        let slot = Some((*word).to_owned());
        match *word {
            "metrology" | "instrument" | "production" => end.grade = slot,
            "brass" | "stainless" | "beryllium-copper" | "circuit-board" => end.body = slot,
            "slotted" | "slotless" => end.slots = slot,
            "static" => end.static_sensitive = true,
            "power" => end.rf_live = true,
            "bias" => end.biased = true,
            other => {
                return Err(bad(format!(
                    "expected a grade, a body, slotted, slotless, static, power or bias, found \"{other}\""
                )));
            }
        }
    }
    Ok(end)
}

impl Written {
    fn asked(&self) -> Result<ItemAsked, AppError> {
        Ok(ItemAsked {
            tag: self.tag.clone(),
            kind: self.kind.clone(),
            description: self.description.clone(),
            model: self.model.clone(),
            serial: self.serial.clone(),
            location: self.location.clone(),
            cost: self.cost.clone(),
            currency: self.currency.clone(),
            gauges: self.gauges.clone(),
            method: self.method.clone(),
            standard_uncertainty: self.standard_uncertainty.clone(),
            repeatability: self.repeatability.clone(),
            master: self.master.clone(),
            set_point: self.set_point.clone(),
            permissible_percent: self.permissible_percent.clone(),
            ends: self.end.iter().map(|text| end(text)).collect::<Result<_, _>>()?,
        })
    }
}

pub(crate) fn register(s: &mut Session, order: &Written, now: Moment) -> anyhow::Result<u8> {
    let said = s.said(&order.when)?;
    let written = s.shop.register_item(&order.asked()?, &said, now)?;
    s.wrote(&written)
}

pub(crate) fn amend(s: &mut Session, order: &Amend, now: Moment) -> anyhow::Result<u8> {
    let said = s.said(&order.to.when)?;
    let written = s.shop.amend_item(&order.item, &order.to.asked()?, &order.because, &said, now)?;
    s.wrote(&written)
}

pub(crate) fn item(s: &Session, tag: &str) -> anyhow::Result<u8> {
    s.print(&s.shop.item(tag, s.at)?, show_item)?;
    Ok(DONE)
}

pub(crate) fn kept(s: &Session, tag: &str, item: bool) -> anyhow::Result<u8> {
    if item {
        s.print(&s.shop.item_kept(tag, s.at)?, show_item_kept)?;
        return Ok(DONE);
    }
    s.print(&s.shop.end_kept(tag, s.at)?, show_kept)?;
    Ok(DONE)
}

pub(crate) fn look_guide(s: &Session, tag: &str) -> anyhow::Result<u8> {
    s.print(&s.shop.look_guide(tag, s.at)?, show_guide)?;
    Ok(DONE)
}

pub(crate) fn policy(s: &Session) -> anyhow::Result<u8> {
    s.print(&s.shop.policy()?, show_policy)?;
    Ok(DONE)
}

fn show_item(out: &mut Out, item: &ItemPageJson) -> io::Result<()> {
    let r = &item.registered;
    writeln!(out, "{} {} {}", r.tag, r.kind, r.description.as_deref().unwrap_or_default())?;
    for (name, value) in [("model", &r.model), ("serial", &r.serial), ("usual place", &r.location)] {
        if let Some(value) = value {
            writeln!(out, "  {name}: {value}")?;
        }
    }
    if let Some(p) = &item.put_away {
        let caps = match p.capped {
            Some(true) => ", capped",
            Some(false) => ", without caps",
            None => "",
        };
        let used = if p.used_since { "; used since" } else { "" };
        writeln!(out, "  put away in {}{caps} on {}{used}", p.place, p.at)?;
    }
    if let Some(c) = &item.certificate {
        let until = c.valid_until.as_deref().map(|t| format!(" until {t}")).unwrap_or_default();
        writeln!(out, "  certificate {}{until}", c.document)?;
    }
    for end in &item.ends {
        writeln!(
            out,
            "  {} {} {}: {}, {} contacts, {} since the last gauging",
            end.registered.tag,
            end.registered.interface,
            end.registered.sex,
            end.standing.standing,
            end.contacts,
            end.contacts_since_gauging
        )?;
    }
    for line in &item.history {
        writeln!(out, "{} {} {}", line.happened_at, line.person, line.text)?;
    }
    Ok(())
}

fn show_kept(out: &mut Out, kept: &EndKeptJson) -> io::Result<()> {
    show_cases_and_sweeps(out, &kept.cases, &kept.sweeps)?;
    for look in &kept.looks {
        show_look(out, "", look)?;
    }
    if kept.cases.is_empty() && kept.sweeps.is_empty() && kept.looks.is_empty() {
        writeln!(out, "No case, no sweep and no marked look of {} on record.", kept.end.tag)?;
    }
    Ok(())
}

fn show_item_kept(out: &mut Out, kept: &ItemKeptJson) -> io::Result<()> {
    show_cases_and_sweeps(out, &kept.cases, &kept.sweeps)?;
    for one in &kept.looks {
        show_look(out, &format!("{} ", one.end.tag), &one.look)?;
    }
    if kept.cases.is_empty() && kept.sweeps.is_empty() && kept.looks.is_empty() {
        writeln!(out, "No case, no sweep and no marked look of {} on record.", kept.item)?;
    }
    Ok(())
}

fn show_cases_and_sweeps(out: &mut Out, cases: &[EndCaseJson], sweeps: &[EndSweepJson]) -> io::Result<()> {
    for case in cases {
        let state = if case.closed_at.is_some() { "closed" } else { "open" };
        writeln!(out, "case {} ({state}): {}", case.name, case.because)?;
    }
    for sweep in sweeps {
        writeln!(out, "sweep {} {} {} {}", sweep.fact, sweep.at, sweep.file_name, sweep.chain.join(" - "))?;
    }
    Ok(())
}

fn show_look(out: &mut Out, at: &str, look: &EndLookJson) -> io::Result<()> {
    let photo = look.photo_sha256.as_deref().map(|h| format!(" photo {h}")).unwrap_or_default();
    writeln!(out, "look {at}{} {} {}: {} marks{photo}", look.fact, look.at, look.outcome, look.marks.len())
}

fn show_guide(out: &mut Out, guide: &LookGuideJson) -> io::Result<()> {
    writeln!(out, "{} {} {}", guide.end.tag, guide.interface, guide.sex)?;
    for caution in &guide.cautions {
        writeln!(out, "  caution: {}", caution.text)?;
    }
    for m in guide.magnification.iter().chain(&guide.magnification_also) {
        writeln!(out, "  look with {}x ({}: {})", m.value, m.origin.evidence, m.origin.locator)?;
    }
    for (step, number) in guide.steps.iter().zip(1..) {
        writeln!(out, "  {number}. {step}")?;
    }
    writeln!(out, "  on this interface: {}", guide.look_for.join(", "))?;
    for (name, list) in
        [("damage", &guide.damage), ("normal wear", &guide.normal_wear), ("dirt", &guide.dirt)]
    {
        if let Some(list) = list {
            writeln!(out, "  {name}: {}", list.words.join(", "))?;
        }
    }
    Ok(())
}

fn show_policy(out: &mut Out, policy: &PolicyJson) -> io::Result<()> {
    writeln!(out, "Data {}", policy.revision)?;
    if let Some(own) = &policy.own_file {
        let state = if own.in_force { "in force" } else { "CHANGED SINCE THE LAB WAS OPENED" };
        writeln!(out, "Own file {} sha256 {} {state}", own.name, own.sha256)?;
    }
    for row in &policy.rows {
        let own = match (&row.because, row.own) {
            (Some(because), true) => format!(" (own, instead of {}: {because})", row.default),
            _ => String::new(),
        };
        writeln!(
            out,
            "{} = {} {}{own}; {}: {}, {}",
            row.key, row.value, row.unit, row.evidence, row.source, row.locator
        )?;
    }
    for own in policy.own.iter().filter(|o| !o.place.starts_with("policy.")) {
        writeln!(out, "{} = {}, instead of {}: {}", own.place, own.now, own.before.join("; "), own.because)?;
    }
    for taken in &policy.history {
        let elsewhere = if taken.on_this_machine { "" } else { ", on another machine" };
        writeln!(out, "Taken up {} by {}{elsewhere}: {}", taken.at, taken.person, taken.revision)?;
        for change in &taken.changes {
            let side = |value: &Option<String>| value.clone().unwrap_or_else(|| "nothing".to_owned());
            let because = change.because.as_ref().map(|because| format!(": {because}")).unwrap_or_default();
            let (before, now) = (side(&change.before), side(&change.now));
            writeln!(out, "  {}: {before} -> {now}{because}", change.place)?;
        }
    }
    Ok(())
}
