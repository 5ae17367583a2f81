//! Tables in Apache Parquet: one file for each rate, flat, no value missing (not a number stands for it).
//!
//! Columns of 32-bit floats behind a 64-bit time; bytes of equal weight stand together (BYTE_STREAM_SPLIT) and are deflated (GZIP);
//! no dictionary, which makes traces larger than they are. Rows are written in groups of a bounded size. Unit and meaning of
//! a column are key-value pairs of the file, `unit:NAME` and `comment:NAME`. Source: Apache Parquet format 2.10, file
//! footer in the compact protocol of Apache Thrift (from memory; held against `pyarrow` in `tests/interop/mdf`). The writer
//! is our own: the crate `parquet` takes minutes to build for what is a page of code here.

use std::io::{self, Write};

use flate2::Compression;
use flate2::write::GzEncoder;

use crate::Sheet;

/// Rows of a group.
const GROUP_ROWS: usize = 1 << 16;
const MAGIC: &[u8; 4] = b"PAR1";
/// Kinds of the format.
const FLOAT: i64 = 4;
const DOUBLE: i64 = 5;
const REQUIRED: i64 = 0;
const RLE: i64 = 3;
const SPLIT: i64 = 9;
const GZIP: i64 = 2;

/// A table being written.
#[derive(Debug)]
pub struct ParquetWriter<W> {
    out: W,
    at: i64,
    sheet: Sheet,
    time_s: Vec<f64>,
    columns: Vec<Vec<f32>>,
    groups: Vec<RowGroup>,
}

#[derive(Debug)]
struct RowGroup {
    rows: i64,
    chunks: Vec<Chunk>,
}

#[derive(Debug)]
struct Chunk {
    at: i64,
    plain_bytes: i64,
    packed_bytes: i64,
}

impl<W: Write> ParquetWriter<W> {
    /// Begins a table.
    ///
    /// # Errors
    /// What the operating system says.
    pub fn begin(mut out: W, sheet: &Sheet) -> io::Result<Self> {
        out.write_all(MAGIC)?;
        Ok(Self {
            out,
            at: 4,
            time_s: Vec::new(),
            columns: vec![Vec::new(); sheet.columns.len()],
            sheet: sheet.clone(),
            groups: Vec::new(),
        })
    }

    /// Adds one row.
    ///
    /// # Errors
    /// What the operating system says.
    ///
    /// # Panics
    /// If the row does not hold one value per column.
    pub fn push(&mut self, time_s: f64, row: &[f32]) -> io::Result<()> {
        assert_eq!(row.len(), self.columns.len(), "one value per column");
        self.time_s.push(time_s);
        for (column, value) in self.columns.iter_mut().zip(row) {
            column.push(*value);
        }
        if self.time_s.len() == GROUP_ROWS {
            self.flush_group()?;
        }
        Ok(())
    }

    /// Writes what is left and the footer; gives the file back, complete.
    ///
    /// # Errors
    /// What the operating system says.
    pub fn finish(mut self) -> io::Result<W> {
        self.flush_group()?;
        let footer = self.footer();
        self.out.write_all(&footer)?;
        self.out.write_all(&(footer.len() as u32).to_le_bytes())?;
        self.out.write_all(MAGIC)?;
        self.out.flush()?;
        Ok(self.out)
    }

    fn flush_group(&mut self) -> io::Result<()> {
        let rows = self.time_s.len();
        if rows == 0 {
            return Ok(());
        }
        let time: Vec<[u8; 8]> = self.time_s.drain(..).map(f64::to_le_bytes).collect();
        let mut chunks = vec![self.chunk(&time)?];
        for index in 0..self.columns.len() {
            let column = &mut self.columns[index];
            let column: Vec<[u8; 4]> = column.drain(..).map(f32::to_le_bytes).collect();
            chunks.push(self.chunk(&column)?);
        }
        self.groups.push(RowGroup {
            rows: rows as i64,
            chunks,
        });
        Ok(())
    }

    fn chunk<const N: usize>(&mut self, values: &[[u8; N]]) -> io::Result<Chunk> {
        let mut split = Vec::with_capacity(N * values.len());
        for place in 0..N {
            split.extend(values.iter().map(|value| value[place]));
        }
        let mut packer = GzEncoder::new(Vec::new(), Compression::default());
        packer.write_all(&split)?;
        let packed = packer.finish()?;
        let mut head = Compact::default();
        head.number(1, 0);
        head.number(2, split.len() as i64);
        head.number(3, packed.len() as i64);
        head.open(5);
        head.number(1, values.len() as i64);
        head.number(2, SPLIT);
        head.number(3, RLE);
        head.number(4, RLE);
        head.close();
        head.close();
        let chunk = Chunk {
            at: self.at,
            plain_bytes: (head.bytes.len() + split.len()) as i64,
            packed_bytes: (head.bytes.len() + packed.len()) as i64,
        };
        self.out.write_all(&head.bytes)?;
        self.out.write_all(&packed)?;
        self.at += chunk.packed_bytes;
        Ok(chunk)
    }

    fn footer(&self) -> Vec<u8> {
        let names: Vec<(&str, i64)> = std::iter::once(("time", DOUBLE))
            .chain(self.sheet.columns.iter().map(|c| (c.name.as_str(), FLOAT)))
            .collect();
        let mut foot = Compact::default();
        foot.number(1, 2);
        foot.list(2, STRUCT, names.len() + 1);
        foot.element();
        foot.text(4, "rows");
        foot.number(5, names.len() as i64);
        foot.close();
        for (name, kind) in &names {
            foot.element();
            foot.number(1, *kind);
            foot.number(3, REQUIRED);
            foot.text(4, name);
            foot.close();
        }
        foot.long(3, self.groups.iter().map(|group| group.rows).sum());
        foot.list(4, STRUCT, self.groups.len());
        for group in &self.groups {
            foot.element();
            foot.list(1, STRUCT, group.chunks.len());
            for (chunk, (name, kind)) in group.chunks.iter().zip(&names) {
                foot.element();
                foot.long(2, chunk.at);
                foot.open(3);
                foot.number(1, *kind);
                foot.list(2, NUMBER, 2);
                foot.bare(SPLIT);
                foot.bare(RLE);
                foot.list(3, TEXT, 1);
                foot.bare_text(name);
                foot.number(4, GZIP);
                foot.long(5, group.rows);
                foot.long(6, chunk.plain_bytes);
                foot.long(7, chunk.packed_bytes);
                foot.long(9, chunk.at);
                foot.close();
                foot.close();
            }
            foot.long(2, group.chunks.iter().map(|chunk| chunk.plain_bytes).sum());
            foot.long(3, group.rows);
            foot.close();
        }
        let mut pairs = vec![("unit:time".to_owned(), "s".to_owned())];
        for column in &self.sheet.columns {
            pairs.push((format!("unit:{}", column.name), column.unit.clone()));
            if !column.comment.is_empty() {
                pairs.push((format!("comment:{}", column.name), column.comment.clone()));
            }
        }
        foot.list(5, STRUCT, pairs.len());
        for (key, value) in &pairs {
            foot.element();
            foot.text(1, key);
            foot.text(2, value);
            foot.close();
        }
        foot.text(6, concat!("couplet version ", env!("CARGO_PKG_VERSION")));
        foot.close();
        foot.bytes
    }
}

/// Types of the compact protocol.
const NUMBER: u8 = 5;
const LONG: u8 = 6;
const TEXT: u8 = 8;
const LIST: u8 = 9;
const STRUCT: u8 = 12;

/// A structure in the compact protocol: fields by rising numbers.
#[derive(Default)]
struct Compact {
    bytes: Vec<u8>,
    field: i16,
    outer: Vec<i16>,
}

impl Compact {
    fn varint(&mut self, mut value: u64) {
        while value >= 0x80 {
            self.bytes.push(value as u8 | 0x80);
            value >>= 7;
        }
        self.bytes.push(value as u8);
    }

    fn head(&mut self, field: i16, kind: u8) {
        // Fields are written in order and their numbers are below 16.
        self.bytes.push(((field - self.field) as u8) << 4 | kind);
        self.field = field;
    }

    fn bare(&mut self, value: i64) {
        self.varint(((value << 1) ^ (value >> 63)).cast_unsigned());
    }

    fn number(&mut self, field: i16, value: i64) {
        self.head(field, NUMBER);
        self.bare(value);
    }

    fn long(&mut self, field: i16, value: i64) {
        self.head(field, LONG);
        self.bare(value);
    }

    fn bare_text(&mut self, text: &str) {
        self.varint(text.len() as u64);
        self.bytes.extend_from_slice(text.as_bytes());
    }

    fn text(&mut self, field: i16, text: &str) {
        self.head(field, TEXT);
        self.bare_text(text);
    }

    fn list(&mut self, field: i16, kind: u8, length: usize) {
        self.head(field, LIST);
        if length < 15 {
            self.bytes.push((length as u8) << 4 | kind);
        } else {
            self.bytes.push(0xf0 | kind);
            self.varint(length as u64);
        }
    }

    /// Begins a structure in a field.
    fn open(&mut self, field: i16) {
        self.head(field, STRUCT);
        self.element();
    }

    /// Begins a structure in a list.
    fn element(&mut self) {
        self.outer.push(self.field);
        self.field = 0;
    }

    fn close(&mut self) {
        self.bytes.push(0);
        self.field = self.outer.pop().unwrap_or(0);
    }
}
