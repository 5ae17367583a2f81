//! Writes measurement files row by row, several rates side by side, with a bounded buffer.
//!
//! All descriptions come first; data blocks follow as the buffers of the groups fill; at the end a list of them is written for
//! each group and the links and counts at the front are filled in. Every sample is 32 bits, time 64.

use std::io::{self, Seek, SeekFrom, Write};

use crate::Sheet;

/// Bytes of one group's buffer, about.
const BUFFER: usize = 1 << 16;
/// Bytes of a block's header.
const HEADER: u64 = 24;

/// A measurement file being written.
#[derive(Debug)]
pub struct MdfWriter<W> {
    out: W,
    at: u64,
    groups: Vec<GroupState>,
}

#[derive(Debug)]
struct GroupState {
    columns: usize,
    full: usize,
    buffer: Vec<u8>,
    records: u64,
    blocks: Vec<u64>,
    data_link_at: u64,
    cycles_at: u64,
}

impl<W: Write + Seek> MdfWriter<W> {
    /// Writes the descriptions. `start_unix_ns` is the time of the recording, 0 where there is none (a simulation).
    ///
    /// # Errors
    /// What the operating system says.
    pub fn begin(out: W, about: &str, start_unix_ns: u64, sheets: &[Sheet]) -> io::Result<Self> {
        let mut layout = Layout::new();
        layout.identification();
        let header = layout.block(b"HD", 6, &header_data(start_unix_ns));
        let comment = layout.text(b"MD", &xml("HDcomment", about));
        layout.link(header, 5, comment);
        let history = layout.block(b"FH", 2, &history_data(start_unix_ns));
        layout.link(header, 1, history);
        let tool = format!(
            "<FHcomment><TX>written by couplet</TX><tool_id>couplet</tool_id><tool_vendor>couplet</tool_vendor><tool_version>{}</tool_version></FHcomment>",
            env!("CARGO_PKG_VERSION")
        );
        let tool = layout.text(b"MD", &tool);
        layout.link(history, 1, tool);
        let mut groups = Vec::with_capacity(sheets.len());
        let mut before = (header, 0);
        for sheet in sheets {
            let group = layout.block(b"DG", 4, &[0; 8]);
            layout.link(before.0, before.1, group);
            before = (group, 0);
            groups.push(layout.sheet(group, sheet));
        }
        let mut writer = Self {
            out,
            at: layout.bytes.len() as u64,
            groups,
        };
        writer.out.write_all(&layout.bytes)?;
        Ok(writer)
    }

    /// Adds one row to a group.
    ///
    /// # Errors
    /// What the operating system says.
    ///
    /// # Panics
    /// If there is no such group or the row does not hold one value per column.
    pub fn push(&mut self, group: usize, time_s: f64, row: &[f32]) -> io::Result<()> {
        let state = &mut self.groups[group];
        assert_eq!(row.len(), state.columns, "one value per column");
        state.buffer.extend_from_slice(&time_s.to_le_bytes());
        for value in row {
            state.buffer.extend_from_slice(&value.to_le_bytes());
        }
        state.records += 1;
        if state.buffer.len() >= state.full {
            self.flush_group(group)?;
        }
        Ok(())
    }

    /// Writes what is left, the lists and the counts; gives the file back, complete.
    ///
    /// # Errors
    /// What the operating system says.
    pub fn finish(mut self) -> io::Result<W> {
        for group in 0..self.groups.len() {
            self.flush_group(group)?;
            let state = &self.groups[group];
            let link = match state.blocks.as_slice() {
                [] => 0,
                [only] => *only,
                blocks => {
                    let place = self.at;
                    let data_bytes = HEADER + 8 * (blocks.len() as u64 + 1) + 16;
                    let mut list = block_header(b"DL", data_bytes, blocks.len() as u64 + 1);
                    list.extend_from_slice(&0_u64.to_le_bytes());
                    for block in blocks {
                        list.extend_from_slice(&block.to_le_bytes());
                    }
                    // Flag 1: all blocks but the last are of one length.
                    list.extend_from_slice(&1_u32.to_le_bytes());
                    list.extend_from_slice(&(blocks.len() as u32).to_le_bytes());
                    list.extend_from_slice(&(state.full as u64).to_le_bytes());
                    self.out.write_all(&list)?;
                    self.at += list.len() as u64;
                    place
                }
            };
            let (data_link_at, cycles_at, records) =
                (state.data_link_at, state.cycles_at, state.records);
            self.patch(data_link_at, link)?;
            self.patch(cycles_at, records)?;
        }
        self.out.flush()?;
        Ok(self.out)
    }

    fn patch(&mut self, at: u64, value: u64) -> io::Result<()> {
        self.out.seek(SeekFrom::Start(at))?;
        self.out.write_all(&value.to_le_bytes())?;
        self.out.seek(SeekFrom::Start(self.at)).map(|_| ())
    }

    fn flush_group(&mut self, group: usize) -> io::Result<()> {
        let state = &mut self.groups[group];
        if state.buffer.is_empty() {
            return Ok(());
        }
        let header = block_header(b"DT", HEADER + state.buffer.len() as u64, 0);
        let padding = padding(state.buffer.len());
        self.out.write_all(&header)?;
        self.out.write_all(&state.buffer)?;
        self.out.write_all(&[0; 8][..padding])?;
        state.blocks.push(self.at);
        self.at += HEADER + (state.buffer.len() + padding) as u64;
        state.buffer.clear();
        Ok(())
    }
}

/// The descriptions at the front, held whole: some hundred bytes a channel.
struct Layout {
    bytes: Vec<u8>,
}

impl Layout {
    fn new() -> Self {
        Self { bytes: Vec::new() }
    }

    fn identification(&mut self) {
        self.bytes
            .extend_from_slice(b"MDF     4.10    couplet \0\0\0\0");
        self.bytes.extend_from_slice(&410_u16.to_le_bytes());
        self.bytes.resize(64, 0);
    }

    /// Appends a block with empty links and gives its place.
    fn block(&mut self, name: &[u8; 2], links: u64, data: &[u8]) -> u64 {
        let place = self.bytes.len() as u64;
        let length = HEADER + 8 * links + data.len() as u64;
        self.bytes.extend(block_header(name, length, links));
        self.bytes.resize((place + HEADER + 8 * links) as usize, 0);
        self.bytes.extend_from_slice(data);
        let padding = padding(self.bytes.len());
        self.bytes.extend_from_slice(&[0; 8][..padding]);
        place
    }

    fn link(&mut self, block: u64, index: u64, to: u64) {
        self.fill(block + HEADER + 8 * index, to);
    }

    fn fill(&mut self, at: u64, value: u64) {
        let at = at as usize;
        self.bytes[at..at + 8].copy_from_slice(&value.to_le_bytes());
    }

    fn text(&mut self, name: &[u8; 2], text: &str) -> u64 {
        let mut data = text.as_bytes().to_vec();
        data.push(0);
        self.block(name, 0, &data)
    }

    fn sheet(&mut self, data_group: u64, sheet: &Sheet) -> GroupState {
        let record_bytes = 8 + 4 * sheet.columns.len();
        let mut data = Vec::with_capacity(32);
        data.extend_from_slice(&[0; 24]);
        data.extend_from_slice(&(record_bytes as u32).to_le_bytes());
        data.extend_from_slice(&[0; 4]);
        let group = self.block(b"CG", 6, &data);
        self.link(data_group, 1, group);
        if !sheet.name.is_empty() {
            let name = self.text(b"TX", &sheet.name);
            self.link(group, 2, name);
        }
        let time = self.channel("time", "s", "", &channel_data(2, 1, 0, 64));
        self.link(group, 1, time);
        let mut before = time;
        for (index, column) in sheet.columns.iter().enumerate() {
            let data = channel_data(0, 0, 8 + 4 * index as u32, 32);
            let channel = self.channel(&column.name, &column.unit, &column.comment, &data);
            self.link(before, 0, channel);
            before = channel;
        }
        let records = (BUFFER / record_bytes).max(1);
        GroupState {
            columns: sheet.columns.len(),
            full: records * record_bytes,
            buffer: Vec::with_capacity(records * record_bytes),
            records: 0,
            blocks: Vec::new(),
            data_link_at: data_group + HEADER + 16,
            // Behind the links of the channel group and its record id.
            cycles_at: group + HEADER + 48 + 8,
        }
    }

    fn channel(&mut self, name: &str, unit: &str, comment: &str, data: &[u8]) -> u64 {
        let channel = self.block(b"CN", 8, data);
        let name = self.text(b"TX", name);
        self.link(channel, 2, name);
        if !unit.is_empty() {
            let unit = self.text(b"TX", unit);
            self.link(channel, 6, unit);
        }
        if !comment.is_empty() {
            let comment = self.text(b"TX", comment);
            self.link(channel, 7, comment);
        }
        channel
    }
}

fn padding(bytes: usize) -> usize {
    bytes.next_multiple_of(8) - bytes
}

fn block_header(name: &[u8; 2], length: u64, links: u64) -> Vec<u8> {
    let mut header = Vec::with_capacity(HEADER as usize);
    header.extend_from_slice(b"##");
    header.extend_from_slice(name);
    header.extend_from_slice(&[0; 4]);
    header.extend_from_slice(&length.to_le_bytes());
    header.extend_from_slice(&links.to_le_bytes());
    header
}

fn header_data(start_unix_ns: u64) -> Vec<u8> {
    let mut data = start_unix_ns.to_le_bytes().to_vec();
    data.resize(32, 0);
    data
}

fn history_data(start_unix_ns: u64) -> Vec<u8> {
    let mut data = start_unix_ns.to_le_bytes().to_vec();
    data.resize(16, 0);
    data
}

/// Type, synchronisation, IEEE 754 little endian, place and width; no ranges.
fn channel_data(kind: u8, synchronises: u8, byte: u32, bits: u32) -> Vec<u8> {
    let mut data = vec![kind, synchronises, 4, 0];
    data.extend_from_slice(&byte.to_le_bytes());
    data.extend_from_slice(&bits.to_le_bytes());
    data.resize(72, 0);
    data
}

fn xml(element: &str, text: &str) -> String {
    let text = text
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;");
    format!("<{element}><TX>{text}</TX></{element}>")
}
