//! Writes 60 s of 30 channels at 1 kHz into memory: `mdf_against_csv [mdf|csv|parquet|none]`; without a word all, with times and sizes.
//!
//! With a word only that form is written, for counting instructions; `none` makes the rows and writes nothing.

use std::io::Cursor;
use std::time::Instant;

use couplet_exchange::csv::CsvWriter;
use couplet_exchange::mdf::MdfWriter;
use couplet_exchange::parquet::ParquetWriter;
use couplet_exchange::{Column, Sheet};

const ROWS: usize = 60_000;
const CHANNELS: usize = 30;

fn row(step: usize, row: &mut [f32; CHANNELS]) {
    for (channel, value) in row.iter_mut().enumerate() {
        // Cheap, and as many digits as a measurement has.
        let mixed = (step * 7919 + channel * 104_729) % 100_003;
        *value = mixed as f32 * 0.001_3 - 60.0;
    }
}

fn written(form: &str, sheet: &Sheet) -> std::io::Result<usize> {
    let mut values = [0.0; CHANNELS];
    let all = |push: &mut dyn FnMut(f64, &[f32]) -> std::io::Result<()>,
               values: &mut [f32; CHANNELS]| {
        (0..ROWS).try_for_each(|step| {
            row(step, values);
            push(step as f64 * 0.001, values)
        })
    };
    match form {
        "mdf" => {
            let out = Cursor::new(Vec::new());
            let mut writer = MdfWriter::begin(out, "bench", 0, std::slice::from_ref(sheet))?;
            all(&mut |time_s, row| writer.push(0, time_s, row), &mut values)?;
            Ok(writer.finish()?.into_inner().len())
        }
        "csv" => {
            let mut writer = CsvWriter::begin(Vec::new(), sheet)?;
            all(&mut |time_s, row| writer.push(time_s, row), &mut values)?;
            Ok(writer.finish()?.len())
        }
        "parquet" => {
            let mut writer = ParquetWriter::begin(Vec::new(), sheet)?;
            all(&mut |time_s, row| writer.push(time_s, row), &mut values)?;
            Ok(writer.finish()?.len())
        }
        _ => {
            let mut sum = 0.0;
            all(
                &mut |_, row| {
                    sum += f64::from(row[0]);
                    Ok(())
                },
                &mut values,
            )?;
            Ok(usize::from(sum == 1.0))
        }
    }
}

fn main() -> std::io::Result<()> {
    let columns = (0..CHANNELS).map(|channel| {
        let name = format!("signal_{channel:02}");
        Column::new(&name, "rad/s", "Invented numbers of a bench.")
    });
    let sheet = Sheet {
        name: "bench".to_owned(),
        columns: columns.collect(),
    };
    if let Some(form) = std::env::args().nth(1) {
        println!("{form}: {} bytes", written(&form, &sheet)?);
        return Ok(());
    }
    let mut seconds = Vec::new();
    for form in ["mdf", "csv", "parquet"] {
        let begun = Instant::now();
        let bytes = written(form, &sheet)?;
        let took = begun.elapsed().as_secs_f64();
        println!("{form}: {bytes} bytes, {:.1} ms", 1000.0 * took);
        seconds.push(took);
    }
    println!("csv over mdf, times: {:.1}", seconds[1] / seconds[0]);
    Ok(())
}
