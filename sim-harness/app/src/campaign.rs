//! Drives the campaigns, keeps what is finished of a long one, and goes on from there.
//!
//! An interrupted campaign loses at most the samples since the last keeping, see [`crate::kept`].

use std::path::Path;

use couplet_controller::calibration::RawPage;
use couplet_sim::campaign::{Campaign, Spread};
use couplet_sim::plant::Vehicle;

use crate::failure::Failure;
use crate::kept::{Kept, Values};
use crate::parallel::{Progress, in_parallel};

/// Jobs after which finished samples are kept, at least; and the share of the whole campaign, if that is more.
const KEEP_EVERY: (usize, usize) = (64, 50);

/// Name of the file of finished samples.
const KEPT: &str = ".campaign-kept";

/// First word of the file.
const MARK: &str = "couplet-campaign-1";

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
    let kept = keep_in.and_then(|folder| {
        let widths = planned.iter().map(|one| one.campaign.judged.len());
        Kept::beside(folder, KEPT, MARK, widths.collect(), samples)
    });
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
