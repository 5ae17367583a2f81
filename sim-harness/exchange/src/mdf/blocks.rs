//! Blocks of a measurement file, each checked against the size of the file before anything is allocated.

use std::collections::HashSet;
use std::io::{ErrorKind, Read, Seek, SeekFrom};

use super::{Unreadable, Wrong};

/// Longest name, unit or comment, bytes.
const LONGEST_TEXT: u64 = 4096;
/// Most links a description block of the standard has, beside lists.
const MOST_LINKS: u64 = 64;
/// Most data bytes of a description block.
const MOST_DATA: u64 = 4096;

/// A file and its size.
pub struct Blocks<R> {
    source: R,
    /// Size of the file, bytes.
    pub length: u64,
    used: HashSet<u64>,
}

/// Header of a block.
#[derive(Debug, Clone, Copy)]
pub struct Header {
    /// Place of the block.
    pub at: u64,
    /// Letters of its name behind `##`.
    pub name: [u8; 4],
    /// Length with header and links.
    pub length: u64,
    /// Links.
    pub links: u64,
}

impl Header {
    /// Bytes behind header and links.
    pub fn data_bytes(&self) -> u64 {
        // Checked where the header was read.
        self.length - 24 - 8 * self.links
    }

    /// Place of the data.
    pub fn data_at(&self) -> u64 {
        self.at + 24 + 8 * self.links
    }
}

/// A description block, whole.
#[derive(Debug)]
pub struct Block {
    /// Place.
    pub at: u64,
    /// Links.
    pub links: Vec<u64>,
    /// Data.
    pub data: Vec<u8>,
    name: &'static str,
}

impl Block {
    /// A link, 0 if there are fewer.
    pub fn link(&self, index: usize) -> u64 {
        self.links.get(index).copied().unwrap_or(0)
    }

    /// Some bytes of the data as an array.
    ///
    /// # Errors
    /// A block too short.
    pub fn array<const N: usize>(&self, at: usize) -> Result<[u8; N], Unreadable> {
        self.data
            .get(at..)
            .and_then(|rest| rest.first_chunk::<N>())
            .copied()
            .ok_or(Unreadable {
                at: self.at,
                wrong: Wrong::ShortBlock {
                    name: self.name,
                    length: 24 + 8 * self.links.len() as u64 + self.data.len() as u64,
                },
            })
    }

    /// A byte of the data.
    ///
    /// # Errors
    /// A block too short.
    pub fn byte(&self, at: usize) -> Result<u8, Unreadable> {
        self.array::<1>(at).map(|[byte]| byte)
    }

    /// A number of the data.
    ///
    /// # Errors
    /// A block too short.
    pub fn word(&self, at: usize) -> Result<u32, Unreadable> {
        self.array(at).map(u32::from_le_bytes)
    }

    /// A number of the data.
    ///
    /// # Errors
    /// A block too short.
    pub fn long(&self, at: usize) -> Result<u64, Unreadable> {
        self.array(at).map(u64::from_le_bytes)
    }
}

impl<R: Read + Seek> Blocks<R> {
    /// A file.
    ///
    /// # Errors
    /// What the operating system says.
    pub fn new(mut source: R) -> Result<Self, Unreadable> {
        let length = source.seek(SeekFrom::End(0)).map_err(|error| Unreadable {
            at: 0,
            wrong: Wrong::System(error),
        })?;
        Ok(Self {
            source,
            length,
            used: HashSet::new(),
        })
    }

    /// Bytes at a place; the caller has bounded their number.
    ///
    /// # Errors
    /// Bytes beyond the end.
    pub fn bytes(&mut self, at: u64, wanted: u64, into: &mut Vec<u8>) -> Result<(), Unreadable> {
        if at.checked_add(wanted).is_none_or(|end| end > self.length) {
            return Err(self.beyond(at, wanted));
        }
        into.clear();
        let read = self
            .source
            .seek(SeekFrom::Start(at))
            .and_then(|_| (&mut self.source).take(wanted).read_to_end(into));
        match read {
            Ok(count) if count as u64 == wanted => Ok(()),
            Ok(_) => Err(Unreadable {
                at,
                wrong: Wrong::System(ErrorKind::UnexpectedEof.into()),
            }),
            Err(error) => Err(Unreadable {
                at,
                wrong: Wrong::System(error),
            }),
        }
    }

    /// A name for a missing piece.
    fn beyond(&self, at: u64, wanted: u64) -> Unreadable {
        Unreadable {
            at,
            wrong: Wrong::BeyondEnd {
                wanted,
                file: self.length,
            },
        }
    }

    /// The header of whatever block stands at a place.
    ///
    /// # Errors
    /// No block, or one beyond the end.
    pub fn header(&mut self, at: u64, expected: &'static str) -> Result<Header, Unreadable> {
        let mut raw = Vec::new();
        self.bytes(at, 24, &mut raw)?;
        let piece = |from: usize| -> [u8; 8] {
            let mut eight = [0; 8];
            eight.copy_from_slice(&raw[from..from + 8]);
            eight
        };
        let [a, b, c, d, ..] = piece(0);
        let (name, length) = ([a, b, c, d], u64::from_le_bytes(piece(8)));
        let links = u64::from_le_bytes(piece(16));
        if a != b'#' || b != b'#' {
            return Err(Unreadable {
                at,
                wrong: Wrong::NotBlock {
                    expected,
                    found: name,
                },
            });
        }
        let least = links.checked_mul(8).and_then(|bytes| bytes.checked_add(24));
        if least.is_none_or(|least| least > length) {
            return Err(Unreadable {
                at,
                wrong: Wrong::ShortBlock {
                    name: expected,
                    length,
                },
            });
        }
        if at.checked_add(length).is_none_or(|end| end > self.length) {
            return Err(self.beyond(at, length));
        }
        Ok(Header {
            at,
            name,
            length,
            links,
        })
    }

    /// Takes a block that may be reached only once.
    ///
    /// # Errors
    /// If it was reached before.
    pub fn once(&mut self, at: u64) -> Result<(), Unreadable> {
        if self.used.insert(at) {
            Ok(())
        } else {
            Err(Unreadable {
                at,
                wrong: Wrong::Loop,
            })
        }
    }

    /// A description block of a kind.
    ///
    /// # Errors
    /// Another block, or a broken one.
    pub fn block(&mut self, at: u64, name: &'static str) -> Result<Block, Unreadable> {
        let header = self.header(at, name)?;
        if header.name != name.as_bytes() {
            return Err(Unreadable {
                at,
                wrong: Wrong::NotBlock {
                    expected: name,
                    found: header.name,
                },
            });
        }
        let links = self.links(&header, if name == "##DL" { u64::MAX } else { MOST_LINKS })?;
        let mut data = Vec::new();
        let most = if name == "##DL" { 0 } else { MOST_DATA };
        self.bytes(header.data_at(), header.data_bytes().min(most), &mut data)?;
        Ok(Block {
            at,
            links,
            data,
            name,
        })
    }

    fn links(&mut self, header: &Header, most: u64) -> Result<Vec<u64>, Unreadable> {
        let mut raw = Vec::new();
        self.bytes(header.at + 24, 8 * header.links.min(most), &mut raw)?;
        Ok(raw
            .chunks_exact(8)
            .map(|eight| {
                let mut bytes = [0; 8];
                bytes.copy_from_slice(eight);
                u64::from_le_bytes(bytes)
            })
            .collect())
    }

    /// A text, or what stands in the `TX` element of a comment; empty without a link.
    ///
    /// # Errors
    /// No text block, no UTF-8, a name that is too long.
    pub fn text(&mut self, at: u64, whole: bool) -> Result<String, Unreadable> {
        if at == 0 {
            return Ok(String::new());
        }
        let header = self.header(at, "##TX")?;
        if header.name != *b"##TX" && header.name != *b"##MD" {
            return Err(Unreadable {
                at,
                wrong: Wrong::NotBlock {
                    expected: "##TX",
                    found: header.name,
                },
            });
        }
        let wrong = Unreadable {
            at,
            wrong: Wrong::Text,
        };
        if whole && header.data_bytes() > LONGEST_TEXT {
            return Err(wrong);
        }
        let mut raw = Vec::new();
        let taken = header.data_bytes().min(LONGEST_TEXT);
        self.bytes(header.data_at(), taken, &mut raw)?;
        let end = raw.iter().position(|byte| *byte == 0).unwrap_or(raw.len());
        raw.truncate(end);
        let text = match String::from_utf8(raw) {
            Ok(text) => text,
            // A comment cut in the middle of a letter is a comment still.
            Err(error) if !whole => String::from_utf8_lossy(error.as_bytes()).into_owned(),
            Err(_) => return Err(wrong),
        };
        Ok(if header.name == *b"##MD" {
            plain(&text)
        } else {
            text
        })
    }
}

/// The text of the first `TX` element; the whole if there is none.
fn plain(xml: &str) -> String {
    let inner = xml
        .split_once("<TX")
        .and_then(|(_, rest)| rest.split_once('>'))
        .and_then(|(_, rest)| rest.split_once("</TX>"));
    let text = inner.map_or(xml, |(text, _)| text);
    text.replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&apos;", "'")
        .replace("&amp;", "&")
}
