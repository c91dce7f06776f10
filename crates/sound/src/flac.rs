//! How is it written as FLAC? Sixteen bits, mono, fixed predictors and Rice codes, block by block.
//!
//! Source: RFC 9639, Free Lossless Audio Codec: streaminfo (8.2), frame header (9.1), fixed predictors (9.2.5), coded
//! residual (9.2.7), checksums (9.1.8, 9.3). Written here because the encoder on offer keeps the whole stream in memory and
//! brings a dozen crates.

use crate::numbers::sixteen;
use crate::{Sound, SoundError};
use std::io::Write;

const BLOCK: u16 = 4_096;
/// The residual of a full block is coded in 2^3 partitions, each with a parameter of its own.
const PARTITIONS: u32 = 3;
/// The greatest parameter that four bits can say; 15 means something else.
const MOST_RICE: u32 = 14;

/// Writes a sound as a FLAC file.
///
/// # Errors
/// If the writer fails, the sound is longer than a file can say, or a SoundFont cannot play.
pub fn write_flac(sound: &Sound, rate: u32, out: &mut impl Write) -> Result<(), SoundError> {
    let samples = sound.samples();
    // Thirty-six bits for the count, thirty-one for the number of a frame.
    if samples >= 1 << 36 {
        return Err(SoundError::TooLong);
    }
    out.write_all(b"fLaC")?;
    // The last metadata block, streaminfo, 34 bytes.
    out.write_all(&[0x80, 0, 0, 34])?;
    let mut info = Bits::default();
    info.put(u64::from(BLOCK), 16);
    info.put(u64::from(BLOCK), 16);
    // Sizes of the smallest and largest frame: not known.
    info.put(0, 48);
    info.put(u64::from(rate), 20);
    // One channel of sixteen bits.
    info.put(0, 3);
    info.put(15, 5);
    info.put(samples, 36);
    // No MD5 sum: zero means that it was not made.
    info.put(0, 64);
    info.put(0, 64);
    out.write_all(&info.bytes())?;
    let mut stream = sound.stream()?;
    let mut block = vec![0.0; usize::from(BLOCK)];
    let mut number = 0;
    loop {
        let size = stream.fill(&mut block);
        if size == 0 {
            return Ok(());
        }
        let samples: Vec<i32> = block
            .iter()
            .take(size)
            .map(|value| i32::from(sixteen(*value)))
            .collect();
        out.write_all(&frame(&samples, number))?;
        number += 1;
    }
}

/// Bits in order, the highest first.
#[derive(Default)]
struct Bits {
    done: Vec<u8>,
    open: u64,
    count: u32,
}

impl Bits {
    fn put(&mut self, value: u64, bits: u32) {
        for part in (0..bits.div_ceil(8)).rev() {
            let width = (bits - part * 8).min(8);
            let byte = (value >> (part * 8)) & ((1 << width) - 1);
            self.open = self.open << width | byte;
            self.count += width;
            while self.count >= 8 {
                self.count -= 8;
                self.done
                    .extend((self.open >> self.count & 0xFF).to_le_bytes().first());
            }
        }
    }

    /// A run of zeros and a one.
    fn unary(&mut self, zeros: u64) {
        let mut left = zeros;
        while left >= 32 {
            self.put(0, 32);
            left -= 32;
        }
        self.put(1, u32::try_from(left).unwrap_or(0) + 1);
    }

    /// Zeros up to the end of the byte.
    fn align(&mut self) {
        if self.count > 0 {
            self.put(0, 8 - self.count);
        }
    }

    fn bytes(mut self) -> Vec<u8> {
        self.align();
        self.done
    }
}

fn frame(samples: &[i32], number: u64) -> Vec<u8> {
    let mut bits = Bits::default();
    let full = samples.len() == usize::from(BLOCK);
    // Sync, fixed block size.
    bits.put(0xFFF8, 16);
    // 4,096 samples, or a count that follows; the rate is that of streaminfo.
    bits.put(if full { 0b1100 } else { 0b0111 }, 4);
    bits.put(0, 4);
    // One channel, sixteen bits.
    bits.put(0, 4);
    bits.put(0b100, 3);
    bits.put(0, 1);
    frame_number(&mut bits, number);
    if !full {
        bits.put(crate::numbers::length(samples.len()).saturating_sub(1), 16);
    }
    let sum = crc8(&bits.done);
    bits.put(u64::from(sum), 8);
    subframe(&mut bits, samples);
    bits.align();
    let sum = crc16(&bits.done);
    bits.put(u64::from(sum), 16);
    bits.bytes()
}

/// The frame's number, coded as UTF-8 codes a character but up to 36 bits.
fn frame_number(bits: &mut Bits, number: u64) {
    if number < 0x80 {
        bits.put(number, 8);
        return;
    }
    // Each further byte carries six bits; the first says how many follow.
    let mut further = 1;
    while number >> (6 * further + 6 - further) > 0 && further < 6 {
        further += 1;
    }
    let lead = (0xFF_u64 << (7 - further)) & 0xFF;
    bits.put(lead | number >> (6 * further), 8);
    for part in (0..further).rev() {
        bits.put(0x80 | (number >> (6 * part) & 0x3F), 8);
    }
}

/// The residual of a fixed predictor. Source: RFC 9639, 9.2.5.
fn residual(samples: &[i32], order: usize) -> Vec<i32> {
    let mut values = samples.to_vec();
    for _ in 0..order {
        let mut before = 0;
        for value in &mut values {
            let now = *value;
            *value = now - before;
            before = now;
        }
    }
    values.drain(..order.min(values.len()));
    values
}

/// A residual folded to a number without sign: 0, −1, 1, −2 … become 0, 1, 2, 3.
fn folded(value: i32) -> u64 {
    u64::from((value << 1 ^ value >> 31).unsigned_abs())
}

fn subframe(bits: &mut Bits, samples: &[i32]) {
    if let Some(first) = samples.first()
        && samples.iter().all(|value| value == first)
    {
        bits.put(0, 8);
        put_sample(bits, *first);
        return;
    }
    let orders = (0..=4).filter(|order| *order < samples.len());
    let cost = |order: usize| {
        residual(samples, order)
            .iter()
            .skip(4 - order)
            .fold(0_u64, |sum, value| sum + folded(*value))
    };
    let order = orders.min_by_key(|order| cost(*order)).unwrap_or(0);
    bits.put(0b0001_0000 | crate::numbers::length(order) << 1, 8);
    samples
        .iter()
        .take(order)
        .for_each(|value| put_sample(bits, *value));
    let residual = residual(samples, order);
    let partitions = if samples.len() == usize::from(BLOCK) {
        PARTITIONS
    } else {
        0
    };
    bits.put(0, 2);
    bits.put(u64::from(partitions), 4);
    let size = samples.len() >> partitions;
    let mut rest = residual.as_slice();
    for partition in 0..1_usize << partitions {
        // The first is shorter by the samples that were given as they are.
        let here = if partition == 0 {
            size.saturating_sub(order)
        } else {
            size
        };
        let (part, later) = rest.split_at(here.min(rest.len()));
        rest = later;
        rice(bits, part);
    }
}

fn put_sample(bits: &mut Bits, value: i32) {
    bits.put(u64::from(value.cast_unsigned()) & 0xFFFF, 16);
}

fn rice(bits: &mut Bits, part: &[i32]) {
    let sum = part.iter().fold(0_u64, |sum, value| sum + folded(*value));
    let mean = sum / crate::numbers::length(part.len()).max(1);
    let parameter = mean.checked_ilog2().unwrap_or(0).min(MOST_RICE);
    bits.put(u64::from(parameter), 4);
    for value in part {
        let value = folded(*value);
        bits.unary(value >> parameter);
        bits.put(value & ((1 << parameter) - 1), parameter);
    }
}

/// x⁸ + x² + x + 1.
fn crc8(bytes: &[u8]) -> u8 {
    bytes.iter().fold(0, |sum, byte| {
        (0..8).fold(sum ^ byte, |sum: u8, _| {
            if sum & 0x80 > 0 { sum << 1 ^ 0x07 } else { sum << 1 }
        })
    })
}

/// x¹⁶ + x¹⁵ + x² + 1.
fn crc16(bytes: &[u8]) -> u16 {
    bytes.iter().fold(0, |sum: u16, byte| {
        (0..8).fold(sum ^ u16::from(*byte) << 8, |sum, _| {
            if sum & 0x8000 > 0 {
                sum << 1 ^ 0x8005
            } else {
                sum << 1
            }
        })
    })
}
