//! Drives the campaigns, keeps what is finished of a long one, and goes on from there.
//!
//! Finished samples are kept in a text file beside the results, written under a temporary name and renamed, so an
//! interrupted campaign loses at most the samples since the last keeping. The file names the program that made it by a
//! hash of its bytes: demo data and code are inside the program, so what an equal program kept is what this one would
//! drive, bit for bit. Anything else in the file, and any damage, and it is not used. It is removed when the results stand.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use couplet_controller::calibration::RawPage;
use couplet_sim::campaign::{Campaign, Spread};
use couplet_sim::plant::Vehicle;

use crate::failure::Failure;
use crate::parallel::{Progress, in_parallel};

/// Jobs after which finished samples are kept, at least; and the share of the whole campaign, if that is more.
const KEEP_EVERY: (usize, usize) = (64, 50);

/// Name of the file of finished samples.
const KEPT: &str = ".campaign-kept";

/// First word of the file.
const MARK: &str = "couplet-campaign-1";

/// Judged values of one drive.
type Values = Vec<Option<f64>>;

/// One campaign with the page of its setting.
pub struct Planned {
    /// What is driven.
    pub campaign: Campaign,
    /// The page.
    pub page: RawPage,
}

/// Drives `samples` samples of every campaign; with a folder, finished ones are kept there and found again.
///
/// # Errors
/// A sample that broke off; a file that could not be written.
pub fn drive(
    planned: Vec<Planned>,
    vehicle: &Vehicle,
    samples: usize,
    keep_in: Option<&Path>,
) -> Result<Vec<Spread>, Failure> {
    let kept = keep_in.and_then(|folder| Kept::beside(folder, &planned, samples));
    let mut values: Vec<Option<Values>> = vec![None; planned.len() * samples];
    if let Some(kept) = &kept {
        let found = kept.read(&mut values);
        if found > 0 {
            eprintln!("{found} samples of an interrupted campaign are used again");
        }
    }
    let open: Vec<usize> = (0..values.len())
        .filter(|job| values[*job].is_none())
        .collect();
    let step = KEEP_EVERY.0.max(values.len() / KEEP_EVERY.1);
    let progress = Progress::new(open.len(), "sample", open.len().div_ceil(10));
    let mut count = 0;
    let mut trouble = None;
    in_parallel(
        open.len(),
        |index| {
            let job = open[index];
            let Planned { campaign, page } = &planned[job / samples];
            campaign.drive((job % samples) as u64, vehicle, page)
        },
        |index, result: &Values| {
            let job = open[index];
            values[job] = Some(result.clone());
            progress.done(&planned[job / samples].campaign.scenario.name);
            count += 1;
            if let Some(kept) = kept.as_ref().filter(|_| count % step == 0) {
                trouble = kept.write(&values).err().or(trouble.take());
            }
        },
    );
    progress.finish();
    if let Some(trouble) = trouble {
        return Err(trouble);
    }
    let mut spreads = Vec::with_capacity(planned.len());
    let mut values = values.into_iter();
    for Planned { campaign, .. } in planned {
        let finished: Option<Vec<_>> = values.by_ref().take(samples).collect();
        let name = || campaign.scenario.name.clone();
        let samples = finished.ok_or_else(|| Failure::Run { name: name() })?;
        spreads.push(Spread { campaign, samples });
    }
    Ok(spreads)
}

/// Removes the kept samples: the results stand.
pub fn forget(folder: &Path) {
    // Best effort: a file left behind is checked before it is used.
    let _ = std::fs::remove_file(folder.join(KEPT));
}

/// The file of finished samples.
struct Kept {
    place: PathBuf,
    /// First line: what this program would write.
    head: String,
    /// Values per sample, campaign by campaign.
    widths: Vec<usize>,
    samples: usize,
}

impl Kept {
    /// `None` where the program cannot read itself: then nothing is kept rather than something unsure.
    fn beside(folder: &Path, planned: &[Planned], samples: usize) -> Option<Self> {
        let program = std::fs::read(std::env::current_exe().ok()?).ok()?;
        Some(Self {
            place: folder.join(KEPT),
            head: format!("{MARK} {:016x}", hash(&program)),
            widths: planned
                .iter()
                .map(|planned| planned.campaign.judged.len())
                .collect(),
            samples,
        })
    }

    /// Fills in what was kept; how many samples.
    fn read(&self, values: &mut [Option<Values>]) -> usize {
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
    fn write(&self, values: &[Option<Values>]) -> Result<(), Failure> {
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
