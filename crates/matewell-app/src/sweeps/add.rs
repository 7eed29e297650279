//! A sweep kept as evidence, and kept files given back.

use super::{
    SweepFile,
    given::Loaded,
    typed::{bad, labels, port, said},
};
use crate::{AppError, Said, Workshop, WrittenJson};
use matewell_lab::{EndId, FactBody, Moment, SweepNoted};
use matewell_quantity::Frequency;
use matewell_store::{hash_text, sha256_of};
use matewell_wire::SweepAddAsked;
use std::path::Path;

/// Longest text a person may write about a sweep.
const MOST_TEXT: usize = 64 * 1024;

impl Workshop {
    /// Keeps a sweep: its bytes as they came, and the fact.
    ///
    /// # Errors
    ///
    /// Labels that are unknown or twice; a file that cannot be read, has no
    /// S-parameters or stops early; a port it does not have; a layout that
    /// does not fit the ends.
    pub fn sweep_add(
        &mut self,
        file: &SweepFile,
        asked: &SweepAddAsked,
        said_by: &Said,
        now: Moment,
    ) -> Result<WrittenJson, AppError> {
        if let Some(done) = self.written_before(said_by, now)? {
            return Ok(done);
        }
        let noted = self.noted(file, asked)?;
        let fact = self.fact(said_by, now, FactBody::SweepNoted(Box::new(noted)));
        self.write_with_files(&[&file.bytes], &[fact], said_by, now, None)
    }

    fn noted(&self, file: &SweepFile, asked: &SweepAddAsked) -> Result<SweepNoted, AppError> {
        let chain = self.chain(asked.chain.as_deref().unwrap_or_default())?;
        let loaded = Loaded { file: file.clone(), fact: None };
        let parsed = loaded.parse(asked.reading.as_deref())?;
        if parsed.reading.partial {
            return Err(bad("file")(
                "expected a whole file, found one that stops early; what is missing is no evidence",
            ));
        }
        let sweep = &parsed.sweep;
        let port = port(asked.port.as_deref())?.unwrap_or(1);
        if port as usize > sweep.ports() {
            return Err(bad("port")(format!(
                "expected a port of the file, 1 to {}, found {port}",
                sweep.ports()
            )));
        }
        for (field, text) in [
            ("cable_shape", &asked.cable_shape),
            ("instrument", &asked.instrument),
            ("layout", &asked.layout),
            ("file_name", &asked.file_name),
        ] {
            if text.as_ref().is_some_and(|t| t.len() > MOST_TEXT || t.contains('\0')) {
                return Err(bad(field)(format!("expected at most {MOST_TEXT} bytes without U+0000")));
            }
        }
        let layout = said(asked.layout.as_ref());
        if let Some(text) = &layout {
            self.layout(Some((text, "as given")), &chain)?;
        }
        let known_good = match asked.known_good.as_deref().map(str::trim) {
            None | Some("" | "no") => false,
            Some("yes") => true,
            Some(other) => return Err(bad("known_good")(format!("expected yes or no, found \"{other}\""))),
        };
        let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        let edge =
            |f: Option<&f64>| Frequency::from_hertz(f.copied().unwrap_or(f64::NAN)).map_err(bad("file"));
        Ok(SweepNoted {
            chain,
            port,
            cable_shape: said(asked.cable_shape.as_ref()),
            instrument: said(asked.instrument.as_ref()),
            layout,
            known_good,
            file_name: file.name.clone(),
            sha256: sha256_of(&file.bytes),
            bytes: file.bytes.len() as u64,
            ports: count(sweep.ports()),
            points: count(sweep.points()),
            from: edge(sweep.frequencies().first())?,
            to: edge(sweep.frequencies().last())?,
        })
    }

    fn chain(&self, text: &str) -> Result<Vec<EndId>, AppError> {
        let labels = labels(text);
        let mut chain = Vec::new();
        for tag in &labels {
            let end = self.one_end(tag)?.end;
            if chain.contains(&end) {
                return Err(bad("chain")(format!("expected each end once, found {tag} twice")));
            }
            chain.push(end);
        }
        if chain.is_empty() {
            return Err(bad("chain")("expected the labels of the ends from the port outward, found nothing"));
        }
        Ok(chain)
    }

    /// Writes every kept file into a folder under its SHA-256, byte for byte
    /// as it came; `sha256sum` proves each. Gives how many.
    ///
    /// # Errors
    ///
    /// A folder that cannot be written; a store that cannot be read.
    pub fn export_files(&self, folder: &Path) -> Result<u64, AppError> {
        let failed = |path: &Path, error: &std::io::Error| AppError::File {
            path: path.display().to_string(),
            message: error.to_string(),
        };
        std::fs::create_dir_all(folder).map_err(|e| failed(folder, &e))?;
        let mut files = 0;
        for hash in self.store.kept_files()? {
            let path = folder.join(hash_text(&hash));
            let bytes = self.store.kept_file(&hash)?.unwrap_or_default();
            std::fs::write(&path, bytes).map_err(|e| failed(&path, &e))?;
            files += 1;
        }
        Ok(files)
    }
}
