//! Gauging sessions and tools: `matewell gauge …`, `matewell tool check …`,
//! `matewell tool was-off …`, `matewell pin …`.

use crate::cli::When;
use clap::Args;
use matewell_app::AppError;
use matewell_wire::{GaugingAsked, PositionAsked, ToolCheckAsked, WasOffAsked};

/// A gauging as typed on the command line.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("position").required(true).multiple(true).args(["recessed", "protruding"]))]
pub(crate) struct Gauge {
    /// Label of the end
    pub(crate) tag: String,
    /// Readings behind the reference plane, each with its unit
    #[arg(long, allow_hyphen_values = true)]
    recessed: Vec<String>,
    /// Readings in front of the reference plane, each with its unit
    #[arg(long, allow_hyphen_values = true)]
    protruding: Vec<String>,
    /// Label of the gauge
    #[arg(long)]
    with: Option<String>,
    /// Standard uncertainty stated with the readings, when the gauge has none on record
    #[arg(long)]
    standard_uncertainty: Option<String>,
    /// Label of the gauge master
    #[arg(long)]
    master: Option<String>,
    /// Where the pin of the master stands, for example "recessed 0.3um"; by its certificate on record when left out
    #[arg(long)]
    master_position: Option<String>,
    /// Standard uncertainty of that position
    #[arg(long, requires = "master_position")]
    master_standard_uncertainty: Option<String>,
    /// What the gauge showed on the master before, for example "0um,recessed 0.5um"
    #[arg(long, allow_hyphen_values = true)]
    zero_before: Vec<String>,
    /// What the gauge showed on the master after
    #[arg(long, allow_hyphen_values = true)]
    zero_after: Vec<String>,
    /// Positions of the dielectric's face, for example "recessed 20um"
    #[arg(long, allow_hyphen_values = true)]
    dielectric: Vec<String>,
    /// How far the gauge was turned for each reading, in degrees
    #[arg(long, value_delimiter = ',')]
    turned: Vec<f64>,
    /// How the gauge met the end when not as registered: screw-on, push-on, caliper, go-no-go, eye
    #[arg(long)]
    method: Option<String>,
    /// Air temperature, for example 23degC
    #[arg(long)]
    temperature: Option<String>,
    /// Relative humidity in percent
    #[arg(long)]
    humidity: Option<f64>,
    /// Code of a question that was answered with "it is so"; may be given several times
    #[arg(long)]
    sure: Vec<String>,
    /// Show the budget and the decision, and write nothing
    #[arg(long)]
    pub(crate) dry_run: bool,
    #[command(flatten)]
    pub(crate) when: When,
}

impl Gauge {
    /// The same for both doors.
    pub(crate) fn asked(&self) -> Result<GaugingAsked, AppError> {
        let mut readings = with_word("--recessed", "recessed", &self.recessed)?;
        readings.extend(with_word("--protruding", "protruding", &self.protruding)?);
        Ok(GaugingAsked {
            end: self.tag.clone(),
            gauge: self.with.clone(),
            readings,
            standard_uncertainty: self.standard_uncertainty.clone(),
            master: self.master.clone(),
            master_position: self.master_position.as_deref().map(worded),
            master_standard_uncertainty: self.master_standard_uncertainty.clone(),
            zero_before: with_own_words("--zero-before", &self.zero_before)?,
            zero_after: with_own_words("--zero-after", &self.zero_after)?,
            turned_deg: self.turned.clone(),
            method: self.method.clone(),
            temperature: self.temperature.clone(),
            humidity_percent: self.humidity,
            dielectric: with_own_words("--dielectric", &self.dielectric)?,
            sure: self.sure.clone(),
        })
    }
}

fn with_word(option: &'static str, word: &str, texts: &[String]) -> Result<Vec<PositionAsked>, AppError> {
    let pieces = pieces(option, texts)?;
    Ok(pieces.into_iter().map(|distance| PositionAsked { word: word.to_owned(), distance }).collect())
}

fn with_own_words(option: &'static str, texts: &[String]) -> Result<Vec<PositionAsked>, AppError> {
    Ok(pieces(option, texts)?.iter().map(|piece| worded(piece)).collect())
}

/// `recessed 0.5um`: the word first, as it is said.
fn worded(piece: &str) -> PositionAsked {
    match piece.trim().split_once(char::is_whitespace) {
        Some((word, distance)) if word.chars().all(char::is_alphabetic) => {
            PositionAsked { word: word.to_owned(), distance: distance.trim().to_owned() }
        }
        _ => PositionAsked { word: String::new(), distance: piece.trim().to_owned() },
    }
}

/// Readings are parted by commas, so a decimal comma would part one reading:
/// a piece without a unit before another piece is asked about, never guessed.
fn pieces(option: &'static str, texts: &[String]) -> Result<Vec<String>, AppError> {
    let mut found: Vec<String> = Vec::new();
    for text in texts {
        let parts: Vec<&str> = text.split([',', ';']).map(str::trim).collect();
        if let Some(at) = parts
            .iter()
            .take(parts.len().saturating_sub(1))
            .position(|p| p.ends_with(|c: char| c.is_ascii_digit()))
        {
            let (first, second) = (parts[at], parts[at + 1]);
            return Err(AppError::Field {
                field: option,
                message: format!(
                    "\"{first},{second}\" can be one reading with a decimal comma or two readings: write {first}.{second}, or a unit at each reading"
                ),
            });
        }
        found.extend(parts.into_iter().filter(|p| !p.is_empty()).map(str::to_owned));
    }
    Ok(found)
}

/// The check of a tool as typed.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("what").required(true).args(["zero", "reads", "certificate"]))]
pub(crate) struct CheckTool {
    /// Label of the gauge or wrench
    pub(crate) tag: String,
    /// What the gauge showed on its master, compared with its value, for example "recessed 8um"
    #[arg(long)]
    zero: Option<String>,
    /// Torque the wrench was set to; as registered when left out
    #[arg(long)]
    set: Option<String>,
    /// What the reference said, for example 0.91N.m,0.90N.m
    #[arg(long)]
    reads: Vec<String>,
    /// Relative standard uncertainty of the reference, percent
    #[arg(long)]
    device_percent: Option<f64>,
    /// Range of the means when the wrench was taken off and set on again, for example 0.01N.m
    #[arg(long, requires = "reads")]
    reproducibility: Option<String>,
    /// Range of the means when the output drive was turned
    #[arg(long, requires = "reads")]
    output_drive: Option<String>,
    /// Range of the means when the interface was turned
    #[arg(long, requires = "reads")]
    interface: Option<String>,
    /// Range of the means when the loading point was moved
    #[arg(long, requires = "reads")]
    loading_point: Option<String>,
    /// Number or name of a certificate
    #[arg(long)]
    certificate: Option<String>,
    /// With the certificate of a gauge master: where its pin stands, for example "recessed 0.3um"
    #[arg(long, requires = "certificate")]
    position: Option<String>,
    /// Standard uncertainty of that position
    #[arg(long, requires = "position")]
    standard_uncertainty: Option<String>,
    /// Until when the certificate holds
    #[arg(long)]
    valid_until: Option<String>,
    /// The lab takes the tool as in order
    #[arg(long)]
    in_order: bool,
    #[command(flatten)]
    pub(crate) when: When,
}

impl CheckTool {
    pub(crate) fn asked(&self) -> Result<ToolCheckAsked, AppError> {
        Ok(ToolCheckAsked {
            zero: self.zero.as_deref().map(worded),
            set: self.set.clone(),
            reads: pieces("--reads", &self.reads)?,
            device_percent: self.device_percent,
            reproducibility: self.reproducibility.clone(),
            output_drive: self.output_drive.clone(),
            interface: self.interface.clone(),
            loading_point: self.loading_point.clone(),
            certificate: self.certificate.clone(),
            position: self.position.as_deref().map(worded),
            standard_uncertainty: self.standard_uncertainty.clone(),
            valid_until: self.valid_until.clone(),
            in_order: self.in_order,
        })
    }
}

/// A tool that was off, as typed.
#[derive(Debug, Args)]
pub(crate) struct WasOff {
    /// Label of the gauge or wrench
    pub(crate) tag: String,
    /// From when (RFC 3339 or a date)
    #[arg(long)]
    since: String,
    /// Until when
    #[arg(long)]
    until: String,
    /// A gauge: by how much; a wrench: the torque it applied. From the check on record when left out
    #[arg(long)]
    by: Option<String>,
    /// A gauge read too far recessed or protruding; from the check on record when left out
    #[arg(long)]
    too: Option<String>,
    /// Standard uncertainty of that number
    #[arg(long)]
    standard_uncertainty: Option<String>,
    /// It crept from nothing to the whole; a step when left out
    #[arg(long)]
    drift: bool,
    /// Also sessions zeroed on a gauge master on their own
    #[arg(long)]
    even_if_zeroed: bool,
    /// Write the corrections; the originals stay
    #[arg(long)]
    write: bool,
    /// Why, kept with each correction
    #[arg(long)]
    because: Option<String>,
}

impl WasOff {
    pub(crate) fn asked(&self) -> WasOffAsked {
        WasOffAsked {
            since: self.since.clone(),
            until: self.until.clone(),
            by: self.by.clone(),
            too: self.too.clone(),
            standard_uncertainty: self.standard_uncertainty.clone(),
            drift: self.drift,
            even_if_zeroed: self.even_if_zeroed,
            write: self.write,
            because: self.because.clone(),
        }
    }
}
