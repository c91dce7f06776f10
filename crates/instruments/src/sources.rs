//! Where was it read? The publications behind the tables, each named once.
//!
//! Most were read in part only; a value that nobody's page gave is marked [`MEMORY`].

/// A source and what it says there.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Cited {
    /// The publication.
    pub source: &'static str,
    /// What it gives, where it differs from the entry or covers only a part of it; empty otherwise.
    pub says: &'static str,
}

/// A citation.
pub(crate) const fn by(source: &'static str, says: &'static str) -> Cited {
    Cited { source, says }
}

pub(crate) const MEMORY: &str = "from memory";
pub(crate) const PRACTICE: &str = "common practice";
pub(crate) const DERIVED: &str = "derived from the tuning of the open strings";
pub(crate) const ORCHESTRA_LIBRARY: &str = "orchestralibrary.com, Ranges of Orchestral Instruments";
pub(crate) const ORCHESTRATION_RESOURCES: &str = "orchestrationresources.com, woodwinds overview";
pub(crate) const FLASHCARDS: &str = "study cards of an orchestration textbook's appendix (studystack)";
pub(crate) const MUSIC21: &str = "music21 10.5.1, instrument table";
pub(crate) const MUSIC_SUITE: &str = "music-suite (Haskell library), instrument table";
pub(crate) const NEM: &str = "nemusicpub.com grading table (letters without octaves)";
pub(crate) const BANDESTRATION: &str = "bandestration.com 2014-08-30, low extensions";
pub(crate) const WIKI_BASSOON: &str = "Wikipedia, Bassoon";
pub(crate) const WIKI_BRASS: &str = "Wikipedia, Pitch of brass instruments";
pub(crate) const WIKI_TROMBONE: &str = "Wikipedia, Trombone";
pub(crate) const WIKIBOOKS_TROMBONE: &str = "Wikibooks, Trombone: slide positions";
pub(crate) const TRUMPET_LIST: &str = "Wikimedia image description, trumpet overtone series (valve list)";
pub(crate) const SAX_CHART: &str = "thewholehorn.com, alto saxophone chart (draft)";
pub(crate) const SAX_LIST: &str = "saxophone chart at codegolf.stackexchange.com/q/44462";
pub(crate) const RECORDER_CHART: &str = "mecnita.com recorder chart";
pub(crate) const RECORDER_PAGE: &str = "recorderhomepage.net, technique";
pub(crate) const DOLMETSCH: &str = "dolmetsch.com, lesson 6";
pub(crate) const GROVE_POSITION: &str = "Grove, 'Position' (monkhaus.com copy)";
pub(crate) const VOICE_1: &str = "freemusicdictionary.com, vocal range";
pub(crate) const VOICE_2: &str = "scribd 455238020, vocal characteristics";
pub(crate) const VOICE_3: &str = "myoperas.com, soprano and mezzo-soprano";
pub(crate) const VOICE_4: &str = "artsentertainment.cc, voice ranges";
