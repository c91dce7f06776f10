//! How are tracks and events written as bytes?
//!
//! Source: Standard MIDI Files 1.0 (RP-001): chunks, variable-length quantities, meta events.

/// A track's events, in any order.
#[derive(Debug, Default)]
pub(super) struct Track {
    /// Tick; rank among events of one tick (keys let go first, then signs, then keys pressed); bytes.
    events: Vec<(u32, u8, Vec<u8>)>,
}

impl Track {
    pub(super) fn put(&mut self, tick: u32, rank: u8, bytes: Vec<u8>) {
        self.events.push((tick, rank, bytes));
    }
}

/// The bytes of a meta event.
pub(super) fn meta(kind: u8, data: &[u8]) -> Vec<u8> {
    let mut bytes = vec![0xFF, kind];
    number(u32::try_from(data.len()).unwrap_or(0), &mut bytes);
    bytes.extend_from_slice(data);
    bytes
}

/// The bytes of a meta event that holds text.
pub(super) fn text(kind: u8, text: &str) -> Vec<u8> {
    const LONGEST: usize = 1_000;
    let text: String = text.chars().take(LONGEST).collect();
    meta(kind, text.as_bytes())
}

/// Seven bits a byte, the highest first; all but the last have the top bit set.
fn number(value: u32, bytes: &mut Vec<u8>) {
    let [_, _, _, low] = (value & 0x7F).to_be_bytes();
    let mut parts = vec![low];
    let mut rest = value >> 7;
    while rest > 0 && parts.len() < 4 {
        let [_, _, _, next] = (rest & 0x7F | 0x80).to_be_bytes();
        parts.push(next);
        rest >>= 7;
    }
    bytes.extend(parts.into_iter().rev());
}

/// A file of format 1.
pub(super) fn bytes(per_quarter: u16, tracks: Vec<Track>, end: u32) -> Vec<u8> {
    let mut bytes = b"MThd\0\0\0\x06\0\x01".to_vec();
    bytes.extend(u16::try_from(tracks.len()).unwrap_or(u16::MAX).to_be_bytes());
    bytes.extend(per_quarter.to_be_bytes());
    for track in tracks {
        let body = body(track, end);
        bytes.extend(b"MTrk");
        bytes.extend(u32::try_from(body.len()).unwrap_or(u32::MAX).to_be_bytes());
        bytes.extend(body);
    }
    bytes
}

fn body(mut track: Track, end: u32) -> Vec<u8> {
    track.events.sort_by_key(|(tick, rank, _)| (*tick, *rank));
    let mut body = Vec::new();
    let mut now = 0;
    for (tick, _, event) in &track.events {
        number(tick - now, &mut body);
        body.extend(event);
        now = *tick;
    }
    number(end.saturating_sub(now), &mut body);
    body.extend([0xFF, 0x2F, 0]);
    body
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: RP-001, the table of variable-length quantities.
    #[test]
    fn numbers_of_variable_length() {
        for (value, expected) in [
            (0_u32, &[0_u8][..]),
            (0x7F, &[0x7F]),
            (0x80, &[0x81, 0x00]),
            (0x2000, &[0xC0, 0x00]),
            (0x1F_FFFF, &[0xFF, 0xFF, 0x7F]),
            (0x0FFF_FFFF, &[0xFF, 0xFF, 0xFF, 0x7F]),
        ] {
            let mut bytes = Vec::new();
            number(value, &mut bytes);
            assert_eq!(bytes, expected);
        }
    }
}
