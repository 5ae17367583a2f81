//! Finished samples of a long campaign in a text file beside the results, so that an interrupted one goes on.
//!
//! Written under a temporary name and renamed. The file names the program that made it by a hash of its bytes: demo data and
//! code are inside the program, so what an equal program kept is what this one would drive, bit for bit. Anything else in
//! the file, and any damage, and it is not used. Whoever makes the results removes it when they stand.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use crate::failure::Failure;

/// Judged values of one drive.
pub type Values = Vec<Option<f64>>;

/// The file of finished samples.
pub struct Kept {
    place: PathBuf,
    /// First line: what this program would write.
    head: String,
    /// Values per sample, campaign by campaign.
    widths: Vec<usize>,
    samples: usize,
}

impl Kept {
    /// `None` where the program cannot read itself: then nothing is kept rather than something unsure.
    pub fn beside(
        folder: &Path,
        name: &str,
        mark: &str,
        widths: Vec<usize>,
        samples: usize,
    ) -> Option<Self> {
        let program = std::fs::read(std::env::current_exe().ok()?).ok()?;
        Some(Self {
            place: folder.join(name),
            head: format!("{mark} {:016x}", hash(&program)),
            widths,
            samples,
        })
    }

    /// Fills in what was kept; how many samples.
    pub fn read(&self, values: &mut [Option<Values>]) -> usize {
        let Ok(text) = std::fs::read_to_string(&self.place) else {
            return 0;
        };
        let Some(found) = self.parse(&text) else {
            eprintln!(
                "{} is of another program or damaged and is not used",
                self.place.display()
            );
            return 0;
        };
        let mut used = 0;
        for (campaign, sample, kept) in found {
            // More samples may have been asked for the last time.
            if sample < self.samples {
                values[campaign * self.samples + sample] = Some(kept);
                used += 1;
            }
        }
        used
    }

    /// (campaign, sample, values) of each line; `None` if anything is not as written.
    fn parse(&self, text: &str) -> Option<Vec<(usize, usize, Values)>> {
        let body = text.strip_prefix(&self.head)?.strip_prefix('\n')?;
        let (body, sum) = body.strip_suffix('\n')?.rsplit_once('\n')?;
        if sum != format!("{:016x}", hash(body.as_bytes())) {
            return None;
        }
        let mut found = Vec::new();
        for line in body.lines() {
            let mut words = line.split(' ');
            let campaign: usize = words.next()?.parse().ok()?;
            let sample = words.next()?.parse().ok()?;
            let kept: Values = words
                .map(|word| match word {
                    "-" => Some(None),
                    bits => Some(Some(f64::from_bits(u64::from_str_radix(bits, 16).ok()?))),
                })
                .collect::<Option<_>>()?;
            (self.widths.get(campaign) == Some(&kept.len())).then_some(())?;
            found.push((campaign, sample, kept));
        }
        Some(found)
    }

    /// Bits, not decimals: a value comes back as the same value.
    pub fn write(&self, values: &[Option<Values>]) -> Result<(), Failure> {
        let mut body = String::new();
        for (job, kept) in values.iter().enumerate() {
            let Some(kept) = kept else { continue };
            let _ = write!(body, "{} {}", job / self.samples, job % self.samples);
            for value in kept {
                let _ = match value {
                    Some(value) => write!(body, " {:x}", value.to_bits()),
                    None => write!(body, " -"),
                };
            }
            body.push('\n');
        }
        let body = body.trim_end_matches('\n');
        let text = format!("{}\n{body}\n{:016x}\n", self.head, hash(body.as_bytes()));
        let temporary = self
            .place
            .with_extension(format!("{}.tmp", std::process::id()));
        let folder = self.place.parent().unwrap_or(Path::new("."));
        std::fs::create_dir_all(folder)
            .and_then(|()| std::fs::write(&temporary, text))
            .and_then(|()| std::fs::rename(&temporary, &self.place))
            .map_err(|error| {
                let _ = std::fs::remove_file(&temporary);
                Failure::Write {
                    path: self.place.display().to_string(),
                    error,
                }
            })
    }
}

/// FNV-1a, 64 bits: finds accidents, not malice.
fn hash(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
    })
}
