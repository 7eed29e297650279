//! Physics of lines and joints: `matewell line …`.

use crate::{DONE, UNDECIDED, show_line};
use anyhow::Context;
use clap::{Args, Subcommand, ValueHint};
use matewell_app::{physics, sheets_beside};
use matewell_wire::{
    AirAsked, ChainAsked, ConvertAsked, CostAsked, CutoffAsked, GapAsked, ImpedanceAsked, InterfaceListJson,
    LineAnswerJson, LossAsked, MismatchAsked, OffCentreAsked, RecessAsked, ShiftAsked, SlotsAsked, StepAsked,
    ThermalAsked, UsableAsked,
};
use serde::Serialize;
use std::{fs, io::Write, path::Path, path::PathBuf};

#[derive(Debug, Args)]
pub(crate) struct LineOrder {
    /// Write the sweep as a picture to this file; - for standard output
    #[arg(long, global = true, value_hint = ValueHint::FilePath)]
    svg: Option<PathBuf>,
    #[command(subcommand)]
    question: Question,
}

#[derive(Debug, Subcommand)]
enum Question {
    /// Impedance of a line. Example: matewell line impedance --outer 3.5mm --inner 1.52mm
    Impedance(ImpedanceAsked),
    /// Cut-off of the second mode. Example: matewell line cutoff --outer 3.5mm --inner 1.52mm
    Cutoff(CutoffAsked),
    /// Reflection of a pin gap. Example: matewell line gap --interface 3.5mm --gap 60um --at 18GHz
    Gap(GapAsked),
    /// A centre conductor off the axis. Example: matewell line offcentre --interface 3.5mm --offset 40um
    Offcentre(OffCentreAsked),
    /// Loss of a line. Example: matewell line loss --interface 3.5mm --conductivity 16MS/m --at 18GHz
    Loss(LossAsked),
    /// Two reflections and a level. Example: matewell line mismatch --source 0.1 --load 0.05
    Mismatch(MismatchAsked),
    /// Reflection of a chain. Example: matewell line chain --links "0.02:0.3dB 0.05:0.1dB"
    Chain(ChainAsked),
    /// Return loss, VSWR, |Γ| and mismatch loss. Example: matewell line convert --vswr 1.1
    Convert(ConvertAsked),
    /// Dielectric that lies back. Example: matewell line recess --interface sma --recess 100um --at 18GHz
    Recess(RecessAsked),
    /// Two interfaces that meet. Example: matewell line step --interface 3.5mm --other-interface 2.92mm --at 18GHz
    Step(StepAsked),
    /// A reference plane that is off. Example: matewell line shift --length 100um --at 18GHz
    Shift(ShiftAsked),
    /// Usable up to which frequency. Example: matewell line usable --interface 3.5mm --gap 60um --need 0.005
    Usable(UsableAsked),
    /// A joint as a line of an uncertainty budget. Example: matewell line cost --measurand reflection --interface 3.5mm --gap 60um --at 18GHz --device 0.1
    Cost(CostAsked),
    /// What warming does to a gap. Example: matewell line thermal --outer-length 8mm --outer-expansion 17.3ppm/K --inner-length 8mm --inner-expansion 16.7ppm/K --rise 10K --gap 10um
    Thermal(ThermalAsked),
    /// What the weather does to an air line. Example: matewell line air --temperature 23degC --pressure 1013hPa --humidity 50%
    Air(AirAsked),
    /// What the slots of a socket do. Example: matewell line slots --interface 3.5mm --slots 4 --slot-width 0.2mm
    Slots(SlotsAsked),
}

/// Where the answer goes.
struct Out<'a> {
    json: bool,
    svg: Option<&'a Path>,
}

impl Out<'_> {
    fn show<T: Serialize>(&self, answer: &LineAnswerJson<T>) -> anyhow::Result<u8> {
        // An answer that is no prediction has its reasons in the findings.
        let code = if answer.is_prediction() { DONE } else { UNDECIDED };
        if let Some(path) = self.svg {
            let svg = physics::picture(answer)?;
            if path == Path::new("-") {
                std::io::stdout().write_all(svg.as_bytes())?;
                return Ok(code);
            }
            fs::write(path, svg).with_context(|| path.display().to_string())?;
        }
        let mut out = anstream::stdout();
        if self.json {
            writeln!(out, "{}", serde_json::to_string(answer)?)?;
        } else {
            show_line::answer(&mut out, answer)?;
        }
        Ok(code)
    }
}

/// Answers from the data sheets alone: no lab file is opened or made.
pub(crate) fn line(data: &Path, json: bool, order: LineOrder) -> anyhow::Result<u8> {
    let sheets = sheets_beside(data)?;
    let out = Out { json, svg: order.svg.as_deref() };
    match order.question {
        Question::Impedance(asked) => out.show(&physics::impedance(&sheets, &asked)?),
        Question::Cutoff(asked) => out.show(&physics::cutoff(&sheets, &asked)?),
        Question::Gap(asked) => out.show(&physics::gap(&sheets, &asked)?),
        Question::Offcentre(asked) => out.show(&physics::off_centre(&sheets, &asked)?),
        Question::Loss(asked) => out.show(&physics::loss(&sheets, &asked)?),
        Question::Mismatch(asked) => out.show(&physics::mismatch(&sheets, &asked)?),
        Question::Chain(asked) => out.show(&physics::chain(&sheets, &asked)?),
        Question::Convert(asked) => out.show(&physics::convert(&sheets, &asked)?),
        Question::Recess(asked) => out.show(&physics::recess(&sheets, &asked)?),
        Question::Step(asked) => out.show(&physics::step(&sheets, &asked)?),
        Question::Shift(asked) => out.show(&physics::shift(&sheets, &asked)?),
        Question::Usable(asked) => out.show(&physics::usable(&sheets, &asked)?),
        Question::Cost(asked) => out.show(&physics::cost(&sheets, &asked)?),
        Question::Thermal(asked) => out.show(&physics::thermal(&sheets, &asked)?),
        Question::Air(asked) => out.show(&physics::air(&sheets, &asked)?),
        Question::Slots(asked) => out.show(&physics::slots(&sheets, &asked)?),
    }
}

/// The interfaces of the data sheets: no lab file is opened or made.
pub(crate) fn interfaces(data: &Path, json: bool) -> anyhow::Result<u8> {
    let list: InterfaceListJson = physics::interfaces(&sheets_beside(data)?);
    let mut out = anstream::stdout();
    if json {
        writeln!(out, "{}", serde_json::to_string(&list)?)?;
    } else {
        show_line::interfaces(&mut out, &list)?;
    }
    Ok(DONE)
}
