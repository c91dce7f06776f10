//! How is a MIDI file made in a test? Event by event, so that a reader of the test sees what is in it.

/// A file: format, ticks of a quarter note, tracks.
pub struct File {
    pub format: u16,
    pub division: [u8; 2],
    pub tracks: Vec<Track>,
}

/// A track: events with their tick.
#[derive(Clone, Default)]
pub struct Track {
    events: Vec<(u32, u8, Vec<u8>)>,
    channel: u8,
}

/// A file of format 1 with 480 ticks to a quarter note.
pub fn file(tracks: Vec<Track>) -> File {
    File {
        format: 1,
        division: 480_u16.to_be_bytes(),
        tracks,
    }
}

/// An empty track on channel 1.
pub fn track() -> Track {
    Track::default()
}

pub fn number(mut value: u32) -> Vec<u8> {
    let mut bytes = vec![(value & 0x7F) as u8];
    while value > 0x7F {
        value >>= 7;
        bytes.insert(0, (value & 0x7F) as u8 | 0x80);
    }
    bytes
}

impl Track {
    /// Events from here on are on this channel, from 1.
    pub fn channel(mut self, channel: u8) -> Self {
        self.channel = channel - 1;
        self
    }

    pub fn raw(mut self, tick: u32, bytes: &[u8]) -> Self {
        self.events.push((tick, 1, bytes.to_vec()));
        self
    }

    pub fn meta(self, tick: u32, kind: u8, data: &[u8]) -> Self {
        let length = number(u32::try_from(data.len()).unwrap());
        self.raw(tick, &[&[0xFF, kind], length.as_slice(), data].concat())
    }

    pub fn text(self, tick: u32, kind: u8, text: &str) -> Self {
        self.meta(tick, kind, text.as_bytes())
    }

    pub fn metre(self, tick: u32, beats: u8, power: u8) -> Self {
        self.meta(tick, 0x58, &[beats, power, 24, 8])
    }

    pub fn key(self, tick: u32, fifths: i8, minor: bool) -> Self {
        self.meta(tick, 0x59, &[fifths.cast_unsigned(), u8::from(minor)])
    }

    /// Quarter notes a minute.
    pub fn tempo(self, tick: u32, per_minute: u32) -> Self {
        let [_, a, b, c] = (60_000_000 / per_minute).to_be_bytes();
        self.meta(tick, 0x51, &[a, b, c])
    }

    pub fn program(self, tick: u32, program: u8) -> Self {
        let status = 0xC0 | self.channel;
        self.raw(tick, &[status, program - 1])
    }

    pub fn note(mut self, tick: u32, length: u32, key: u8) -> Self {
        self.events.push((tick, 2, vec![0x90 | self.channel, key, 80]));
        self.events
            .push((tick + length, 0, vec![0x80 | self.channel, key, 0]));
        self
    }

    /// Notes one after the other: (length, key), key 0 is silence.
    pub fn line(mut self, mut tick: u32, notes: &[(u32, u8)]) -> Self {
        for (length, key) in notes {
            if *key > 0 {
                self = self.note(tick, *length, *key);
            }
            tick += length;
        }
        self
    }

    pub fn bytes(mut self) -> Vec<u8> {
        self.events.sort_by_key(|(tick, rank, _)| (*tick, *rank));
        let mut body = Vec::new();
        let mut now = 0;
        for (tick, _, bytes) in self.events {
            body.extend(number(tick - now));
            body.extend(bytes);
            now = tick;
        }
        body.extend([0, 0xFF, 0x2F, 0]);
        let length = u32::try_from(body.len()).unwrap().to_be_bytes();
        [b"MTrk", &length[..], &body].concat()
    }
}

impl File {
    pub fn bytes(self) -> Vec<u8> {
        let tracks = u16::try_from(self.tracks.len()).unwrap().to_be_bytes();
        let head = [
            b"MThd\0\0\0\x06",
            &self.format.to_be_bytes()[..],
            &tracks,
            &self.division,
        ]
        .concat();
        let tracks = self.tracks.into_iter().flat_map(Track::bytes);
        head.into_iter().chain(tracks).collect()
    }
}

/// A file of one track, 480 ticks to a quarter note.
pub fn one(track: Track) -> Vec<u8> {
    file(vec![track]).bytes()
}
