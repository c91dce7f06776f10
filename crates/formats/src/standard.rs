//! In which standard are these bytes written? By content, never by name.

/// A standard that we read.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Standard {
    /// MusicXML 4.0 and older, plain or compressed.
    MusicXml,
    /// MEI 5 and older, common Western notation.
    Mei,
    /// ABC 2.1.
    Abc,
    /// Humdrum with `**kern` spines.
    Kern,
    /// Standard MIDI file.
    Midi,
}

impl Standard {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::MusicXml, Self::Mei, Self::Abc, Self::Kern, Self::Midi];

    /// The standard's name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::MusicXml => "MusicXML",
            Self::Mei => "MEI",
            Self::Abc => "ABC",
            Self::Kern => "Humdrum kern",
            Self::Midi => "MIDI",
        }
    }

    /// What a text that isn't XML is written in; `None` if in none of ours.
    pub(crate) fn of_plain(bytes: &[u8]) -> Option<Self> {
        if bytes.starts_with(b"MThd") || bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"RMID") {
            return Some(Self::Midi);
        }
        if crate::kern::looks_like(bytes) {
            return Some(Self::Kern);
        }
        crate::abc::looks_like(bytes).then_some(Self::Abc)
    }
}
