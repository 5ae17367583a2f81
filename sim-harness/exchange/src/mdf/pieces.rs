//! Where the bytes of the records lie: one block, lists of blocks, compressed blocks.

use std::io::{Read, Seek};

use super::blocks::{Blocks, Header};
use super::{Limits, Unreadable, Wrong};

/// Deflate makes at most about 1032 bytes of one.
const MOST_INFLATION: u64 = 1040;

/// One stretch of record bytes.
#[derive(Debug)]
pub struct Piece {
    /// Header of its block.
    pub header: Header,
    /// Bytes it gives.
    pub bytes: u64,
    /// Width of the transposed table, 0 for none; nothing for a plain block.
    pub packed: Option<u64>,
}

/// The pieces behind a data link, in order.
///
/// # Errors
/// What is wrong, and at which byte.
pub fn data_pieces<R: Read + Seek>(
    blocks: &mut Blocks<R>,
    first: u64,
    limits: &Limits,
) -> Result<Vec<Piece>, Unreadable> {
    let mut pieces = Vec::new();
    let mut lists = vec![first];
    while let Some(at) = lists.pop() {
        if at == 0 {
            continue;
        }
        blocks.once(at)?;
        let header = blocks.header(at, "##DT")?;
        match &header.name {
            b"##HL" => lists.push(blocks.block(at, "##HL")?.link(0)),
            b"##DL" => {
                let list = blocks.block(at, "##DL")?;
                for block in list.links.iter().skip(1).filter(|block| **block != 0) {
                    blocks.once(*block)?;
                    pieces.push(piece(blocks, *block, limits)?);
                }
                lists.push(list.link(0));
            }
            b"##LD" | b"##DV" => {
                let what = "column-oriented data (LD, DV)";
                return Err(Unreadable {
                    at,
                    wrong: Wrong::NotSupported(what),
                });
            }
            _ => pieces.push(piece(blocks, at, limits)?),
        }
    }
    Ok(pieces)
}

fn piece<R: Read + Seek>(
    blocks: &mut Blocks<R>,
    at: u64,
    limits: &Limits,
) -> Result<Piece, Unreadable> {
    let header = blocks.header(at, "##DT")?;
    let refuse = |wrong| Err(Unreadable { at, wrong });
    match &header.name {
        b"##DT" => Ok(Piece {
            header,
            bytes: header.data_bytes(),
            packed: None,
        }),
        b"##DZ" => {
            let mut head = Vec::new();
            if header.data_bytes() < 24 {
                let length = header.length;
                return refuse(Wrong::ShortBlock {
                    name: "##DZ",
                    length,
                });
            }
            blocks.bytes(header.data_at(), 24, &mut head)?;
            let number = |from: usize| {
                let mut eight = [0; 8];
                eight.copy_from_slice(&head[from..from + 8]);
                u64::from_le_bytes(eight)
            };
            let columns = u64::from(u32::from_le_bytes([head[4], head[5], head[6], head[7]]));
            let (bytes, packed_bytes) = (number(8), number(16));
            if &head[..2] != b"DT" {
                return refuse(Wrong::NotSupported(
                    "compressed data of another kind than DT",
                ));
            }
            if packed_bytes > header.data_bytes() - 24 {
                return refuse(Wrong::Inflate);
            }
            let most = limits
                .block_bytes
                .min(packed_bytes.saturating_mul(MOST_INFLATION));
            if bytes > most {
                let (need, allowed) = (bytes, most);
                return refuse(Wrong::TooMuch { need, allowed });
            }
            let packed = match head[2] {
                0 => 0,
                1 => columns.max(1),
                _ => return refuse(Wrong::NotSupported("a compression other than deflate")),
            };
            Ok(Piece {
                header,
                bytes,
                packed: Some(packed),
            })
        }
        _ => refuse(Wrong::NotBlock {
            expected: "##DT",
            found: header.name,
        }),
    }
}

/// Inflates a compressed piece, and turns it where it is transposed; `columns` is the width of its table.
///
/// # Errors
/// A block that does not inflate to what it says.
pub fn unpack<R: Read + Seek>(
    blocks: &mut Blocks<R>,
    piece: &Piece,
    columns: u64,
    into: &mut Vec<u8>,
) -> Result<(), Unreadable> {
    let wrong = || Unreadable {
        at: piece.header.at,
        wrong: Wrong::Inflate,
    };
    let mut packed = Vec::new();
    let length = piece.header.data_bytes() - 24;
    blocks.bytes(piece.header.data_at() + 24, length, &mut packed)?;
    into.clear();
    let mut inflated = flate2::read::ZlibDecoder::new(packed.as_slice()).take(piece.bytes + 1);
    let count = inflated.read_to_end(into).map_err(|_| wrong())?;
    if count as u64 != piece.bytes {
        return Err(wrong());
    }
    if columns > 1 {
        // What does not fill a row of the table stands untransposed at the end.
        let columns = columns as usize;
        let rows = into.len() / columns;
        let mut straight = Vec::with_capacity(into.len());
        for row in 0..rows {
            straight.extend((0..columns).map(|column| into[column * rows + row]));
        }
        straight.extend_from_slice(&into[rows * columns..]);
        *into = straight;
    }
    Ok(())
}
