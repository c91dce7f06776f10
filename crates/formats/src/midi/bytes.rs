//! How do the bytes of a Standard MIDI file divide into tracks and events? Chunks, variable-length numbers, running status.
//!
//! Source: Standard MIDI Files 1.0 (RP-001), MIDI Manufacturers Association; for the wrapper: RP-029, RIFF `RMID`.
//!
//! Our own because `midly` 0.5.3 stops silently at the first damaged event (a key signature cut short loses the rest of
//! the track), and panics in debug builds on a division of −128 frames. Here damage has a byte and a finding. The witness is
//! music21's reader, in the project's reference suite.

/// What the header says.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Header {
    /// 0, 1 or 2; whatever else the file says is read as 1.
    pub format: u16,
    /// Tracks that the header announces.
    pub tracks: u16,
    pub division: Division,
}

/// What a tick is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Division {
    /// So many to a quarter note.
    PerQuarter(u16),
    /// So many to a second: frames (29 stands for 30000/1001) times ticks of a frame.
    PerSecond { frames: u8, ticks: u8 },
}

/// One track's bytes, with where they stand in the file.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chunk<'b> {
    pub bytes: &'b [u8],
    pub at: usize,
    /// The file ends before the chunk does.
    pub cut: bool,
}

/// One event of a track.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Event<'b> {
    /// Status byte (0x80–0xEF) and its data; a second byte that doesn't exist is 0.
    Channel(u8, u8, u8),
    /// Meta event: its type and bytes.
    Meta(u8, &'b [u8]),
    /// System exclusive or escape.
    System,
}

/// Bytes of the file inside its RIFF wrapper, if it has one.
pub(super) fn unwrapped(bytes: &[u8]) -> (&[u8], usize) {
    if !bytes.starts_with(b"RIFF") {
        return (bytes, 0);
    }
    let mut at = 12;
    while let (Some(id), Some(length)) = (bytes.get(at..at + 4), bytes.get(at + 4..at + 8)) {
        let length = length
            .iter()
            .rev()
            .fold(0, |sum: usize, b| sum << 8 | usize::from(*b));
        let start = at + 8;
        if id == b"data" {
            let end = start.saturating_add(length).min(bytes.len());
            return (bytes.get(start..end).unwrap_or_default(), start);
        }
        at = start.saturating_add(length).saturating_add(length % 2);
        if at >= bytes.len() {
            break;
        }
    }
    (&[], bytes.len())
}

/// The header and the tracks; `None` if there is no usable header.
pub(super) fn chunks(bytes: &[u8], base: usize) -> Option<(Header, Vec<Chunk<'_>>)> {
    let mut header = None;
    let mut tracks = Vec::new();
    let mut at = 0;
    while let (Some(id), Some(length)) = (bytes.get(at..at + 4), bytes.get(at + 4..at + 8)) {
        let length = length.iter().fold(0, |sum: usize, b| sum << 8 | usize::from(*b));
        let start = at + 8;
        let end = start.saturating_add(length);
        let body = bytes.get(start..end.min(bytes.len())).unwrap_or_default();
        if id == b"MThd" {
            header = header.or_else(|| read_header(body));
        } else if id == b"MTrk" && tracks.len() < MOST_TRACKS {
            tracks.push(Chunk {
                bytes: body,
                at: base + start,
                cut: end > bytes.len(),
            });
        }
        if end >= bytes.len() {
            break;
        }
        at = end;
    }
    header.map(|header| (header, tracks))
}

/// A format 1 file has a track for each part and one for the tempo: more than any score has parts.
const MOST_TRACKS: usize = 1_000;

fn read_header(body: &[u8]) -> Option<Header> {
    let word = |at: usize| Some(u16::from_be_bytes([*body.get(at)?, *body.get(at + 1)?]));
    let (format, tracks, division) = (word(0)?, word(2)?, word(4)?);
    let [high, low] = division.to_be_bytes();
    let division = if high < 0x80 {
        Division::PerQuarter(division)
    } else {
        // The upper byte is the negative number of frames: −24, −25, −29, −30.
        Division::PerSecond {
            frames: high.wrapping_neg(),
            ticks: low,
        }
    };
    Some(Header {
        format: if format > 2 { 1 } else { format },
        tracks,
        division,
    })
}

/// Reads a track event by event. After the last, [`Events::damage`] says whether it ended as it should.
#[derive(Clone, Debug)]
pub(super) struct Events<'b> {
    bytes: &'b [u8],
    at: usize,
    base: usize,
    status: Option<u8>,
    tick: u64,
    ended: bool,
    damage: Option<(usize, &'static str)>,
}

impl<'b> Events<'b> {
    pub(super) fn new(chunk: Chunk<'b>) -> Self {
        Self {
            bytes: chunk.bytes,
            at: 0,
            base: chunk.at,
            status: None,
            tick: 0,
            ended: false,
            damage: None,
        }
    }

    /// Where in the file reading broke off, and why; `None` if the track ended with its end mark.
    pub(super) fn damage(&self) -> Option<(usize, &'static str)> {
        self.damage
    }

    /// The tick of the event given last.
    pub(super) fn tick(&self) -> u64 {
        self.tick
    }

    fn byte(&mut self) -> Option<u8> {
        let byte = self.bytes.get(self.at).copied()?;
        self.at += 1;
        Some(byte)
    }

    /// Source: RP-001, variable-length quantity: seven bits a byte, at most four bytes.
    fn number(&mut self) -> Option<u32> {
        let mut number = 0;
        for _ in 0..4 {
            let byte = self.byte()?;
            number = number << 7 | u32::from(byte & 0x7F);
            if byte < 0x80 {
                return Some(number);
            }
        }
        None
    }

    fn data(&mut self) -> Option<u8> {
        let byte = self.byte()?;
        if byte < 0x80 {
            return Some(byte);
        }
        self.at -= 1;
        None
    }

    fn block(&mut self) -> Option<&'b [u8]> {
        let length = usize::try_from(self.number()?).ok()?;
        let block = self.bytes.get(self.at..self.at.checked_add(length)?)?;
        self.at += length;
        Some(block)
    }

    fn event(&mut self) -> Result<Event<'b>, &'static str> {
        const CUT: &str = "an event is cut off";
        let status = match self.bytes.get(self.at).copied().ok_or(CUT)? {
            status @ 0x80.. => {
                self.at += 1;
                status
            }
            _ => self.status.ok_or("an event has no status byte")?,
        };
        match status {
            0xFF => {
                self.status = None;
                let kind = self.byte().ok_or(CUT)?;
                Ok(Event::Meta(kind, self.block().ok_or(CUT)?))
            }
            0xF0 | 0xF7 => {
                self.status = None;
                self.block().ok_or(CUT)?;
                Ok(Event::System)
            }
            0xF1..=0xFE => Err("an event stands there that files can't hold"),
            _ => {
                self.status = Some(status);
                const BAD: &str = "an event's data bytes are damaged or missing";
                let first = self.data().ok_or(BAD)?;
                let second = if matches!(status & 0xF0, 0xC0 | 0xD0) {
                    0
                } else {
                    self.data().ok_or(BAD)?
                };
                Ok(Event::Channel(status, first, second))
            }
        }
    }
}

impl<'b> Iterator for Events<'b> {
    /// Tick, byte of the file, event. The end mark is not given.
    type Item = (u64, usize, Event<'b>);

    fn next(&mut self) -> Option<Self::Item> {
        if self.ended {
            return None;
        }
        let start = self.at;
        if start >= self.bytes.len() {
            self.ended = true;
            self.damage = Some((self.base + start, "it has no end mark"));
            return None;
        }
        let read = match self.number() {
            Some(delta) => {
                self.tick = self.tick.saturating_add(u64::from(delta));
                self.event()
            }
            None => Err("a time is damaged or cut off"),
        };
        match read {
            Ok(Event::Meta(0x2F, _)) => {
                self.ended = true;
                None
            }
            Ok(event) => Some((self.tick, self.base + start, event)),
            Err(what) => {
                self.ended = true;
                self.damage = Some((self.base + start, what));
                None
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    type Read<'b> = (Vec<(u64, usize, Event<'b>)>, Option<(usize, &'static str)>);

    fn events(bytes: &[u8]) -> Read<'_> {
        let mut events = Events::new(Chunk {
            bytes,
            at: 100,
            cut: false,
        });
        let all = events.by_ref().collect();
        (all, events.damage())
    }

    /// Source: RP-001, the table of variable-length quantities.
    #[test]
    fn numbers_of_variable_length() {
        for (bytes, number) in [
            (&[0x40_u8][..], 0x40),
            (&[0x7F], 0x7F),
            (&[0x81, 0x00], 0x80),
            (&[0xC0, 0x00], 0x2000),
            (&[0xFF, 0x7F], 0x3FFF),
            (&[0x81, 0x80, 0x00], 0x4000),
            (&[0xFF, 0xFF, 0xFF, 0x7F], 0x0FFF_FFFF),
        ] {
            let mut events = Events::new(Chunk {
                bytes,
                at: 0,
                cut: false,
            });
            assert_eq!(events.number(), Some(number));
        }
    }

    #[test]
    fn running_status_holds_until_a_meta_event() {
        let (all, damage) = events(&[0, 0x90, 60, 64, 10, 60, 0, 0, 0xFF, 0x2F, 0]);
        assert_eq!(
            all,
            [
                (0, 100, Event::Channel(0x90, 60, 64)),
                (10, 104, Event::Channel(0x90, 60, 0))
            ]
        );
        assert_eq!(damage, None);
        let (all, damage) = events(&[0, 0x90, 60, 64, 0, 0xFF, 1, 0, 10, 60, 0]);
        assert_eq!(all.len(), 2);
        assert_eq!(damage, Some((108, "an event has no status byte")));
    }

    #[test]
    fn a_wrapped_file_is_unwrapped() {
        let mut riff = b"RIFF\0\0\0\0RMIDLIST\x03\0\0\0abc\0data\x02\0\0\0hi".to_vec();
        assert_eq!(unwrapped(&riff), (&b"hi"[..], 32));
        riff.truncate(20);
        assert_eq!(unwrapped(&riff).0, b"");
    }
}
