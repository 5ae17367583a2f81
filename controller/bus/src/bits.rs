//! Raw values of up to 24 bits in bytes, in both byte orders of the trade.
//!
//! Bits are numbered as in database files: bit `8 i + j` is bit `j` of byte `i`, `j` 0 being the least. In little order the
//! start is the least bit and the value grows upwards; in big order the start is the highest bit and the value runs downwards
//! through the byte and on from the top of the next. Bits outside the bytes read as zero and are not written.

/// Most bits of a raw value: as many as single precision holds exactly.
pub const MOST_BITS: u8 = 24;

/// Byte order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// Least byte first.
    Little,
    /// Highest byte first.
    Big,
}

/// Highest raw value of so many bits.
pub const fn ones(bits: u8) -> u32 {
    1_u32.wrapping_shl(bits as u32).wrapping_sub(1)
}

/// Reads a raw value.
pub fn read(bytes: &[u8], start: u16, bits: u8, order: Order) -> u32 {
    let (first, shift) = place(start, bits, order);
    window(bytes, first, order).wrapping_shr(shift) & ones(bits)
}

/// Writes a raw value; bits beyond its length are cut off.
pub fn write(bytes: &mut [u8], start: u16, bits: u8, order: Order, raw: u32) {
    let (first, shift) = place(start, bits, order);
    let hole = ones(bits).wrapping_shl(shift);
    let filled = (window(bytes, first, order) & !hole) | (raw.wrapping_shl(shift) & hole);
    let filled = match order {
        Order::Little => filled.to_le_bytes(),
        Order::Big => filled.to_be_bytes(),
    };
    for (to, from) in bytes.iter_mut().skip(first).zip(filled) {
        *to = from;
    }
}

/// First byte of the four the value lies in, and how far the value must be moved down in their 32 bits.
const fn place(start: u16, bits: u8, order: Order) -> (usize, u32) {
    let (byte, bit) = (start / 8, start as u32 % 8);
    let shift = match order {
        Order::Little => bit,
        // From the top of the first byte: 7 - bit bits lie above the value.
        Order::Big => 25_u32.wrapping_add(bit).wrapping_sub(bits as u32),
    };
    (byte as usize, shift)
}

fn window(bytes: &[u8], first: usize, order: Order) -> u32 {
    let mut four = [0; 4];
    for (to, from) in four.iter_mut().zip(bytes.iter().skip(first)) {
        *to = *from;
    }
    match order {
        Order::Little => u32::from_le_bytes(four),
        Order::Big => u32::from_be_bytes(four),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The definition, bit by bit.
    fn slow(bytes: &[u8], start: u16, bits: u8, order: Order) -> u32 {
        let bit = |at: usize| u32::from(bytes[at / 8] >> (at % 8) & 1);
        let (mut raw, mut at) = (0, usize::from(start));
        for place in 0..bits {
            match order {
                Order::Little => raw |= bit(usize::from(start) + usize::from(place)) << place,
                Order::Big => {
                    raw = raw << 1 | bit(at);
                    at = if at % 8 == 0 { at + 15 } else { at - 1 };
                }
            }
        }
        raw
    }

    #[test]
    fn every_place_and_length_reads_as_the_definition_says_and_writes_nothing_else() {
        let mut bytes = [0_u8; 64];
        for (place, byte) in bytes.iter_mut().enumerate() {
            *byte = (place as u8).wrapping_mul(151) ^ 0x5a;
        }
        for order in [Order::Little, Order::Big] {
            for start in 0..512_u16 {
                for bits in 1..=MOST_BITS {
                    let free = match order {
                        Order::Little => 512 - start,
                        Order::Big => 512 - (start / 8 * 8 + 7 - start % 8),
                    };
                    if u16::from(bits) > free {
                        continue;
                    }
                    let before = slow(&bytes, start, bits, order);
                    assert_eq!(read(&bytes, start, bits, order), before);
                    let mut changed = bytes;
                    write(&mut changed, start, bits, order, !before);
                    assert_eq!(read(&changed, start, bits, order), !before & ones(bits));
                    let moved: u32 = bytes
                        .iter()
                        .zip(changed)
                        .map(|(one, other)| (one ^ other).count_ones())
                        .sum();
                    assert_eq!(moved, u32::from(bits), "{order:?} {start} {bits}");
                }
            }
        }
    }

    #[test]
    fn places_outside_the_bytes_read_as_zero_and_are_not_written() {
        for order in [Order::Little, Order::Big] {
            for start in [60, 64, 500, u16::MAX] {
                let mut bytes = [0_u8; 8];
                write(&mut bytes, start, 255, order, u32::MAX);
                assert_eq!(read(&[], start, 24, order), 0);
            }
        }
    }
}
