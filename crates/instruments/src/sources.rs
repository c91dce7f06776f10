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

// Fingerings. Most charts could be read in part only.
pub(crate) const WFG_BASSOON: &str = "Woodwind Fingering Guide, Heckel bassoon key list";
pub(crate) const WFG_CLARINET: &str = "Woodwind Fingering Guide, Boehm clarinet key list";
pub(crate) const WFG_SAX: &str = "Woodwind Fingering Guide, saxophone key list";
pub(crate) const LOWE: &str = "C. Lowe, bassoon course (Open SUNY), lessons on low F♯, A♭ and C♯";
pub(crate) const EWELL: &str = "T. Ewell, 2reed.net, videos 63, 193 and 201";
pub(crate) const COELHO: &str = "B. Coelho, E-flat bassoon fingering";
pub(crate) const INSTRUMENTALIST_BASSOON: &str = "The Instrumentalist, March 2014, venting bassoon notes";
pub(crate) const BASSOON_OPERATOR: &str = "bassoonoperator.blogspot.com 2010, on not flicking";
pub(crate) const BURNS: &str = "M. Burns, Bassoon Fingering Issues";
pub(crate) const MILLARD: &str = "C. Millard, In the Money (Council of Canadian Bassoonists)";
pub(crate) const CATES: &str = "Dr Cates' flute tips, 2014–2015";
pub(crate) const FLUTE_B_FLATS: &str = "four flute pages on B-flat (bandermeer.com, allegromusicpublishing.com, larrykrantz.com, talkclassical.com)";
pub(crate) const INSTRUMENTALIST_FLUTE: &str = "The Instrumentalist, July 2016, flute";
pub(crate) const UNSW: &str = "UNSW Music Acoustics, flute database";
pub(crate) const PIMENTEL: &str = "B. Pimentel, bretpimentel.com, on alternate fingerings";
pub(crate) const PAGLIALONGA: &str = "P. Paglialonga, VMEA Notes, spring 2014";
pub(crate) const SBO: &str = "School Band & Orchestra, May 2014, clarinet alternations";
pub(crate) const CLARINET_BOARD: &str = "woodwind.org clarinet board, December 2022";
pub(crate) const KLARINET: &str = "Klarinet archive, April 1997, no. 955";
pub(crate) const OBOE_INSIGHT: &str = "P. Mitchell, oboeinsight.com, 29 July 2006";
pub(crate) const OBOE_ALLI: &str = "oboealli.com, the three Fs and the half-hole";
pub(crate) const SMOKE: &str = "smoketalks.com, oboe octave keys";
pub(crate) const BARRET: &str = "A. Barret, Technical Development on the Oboe";
pub(crate) const OBOE_LITTLE_FINGERS: &str = "flashdesigner.com.hk, oboe fingering: the little fingers";
pub(crate) const SAX_DIAGRAMS: &str = "Scribd 166125419, saxophone diagrams";
pub(crate) const COATS: &str = "P. Coats, Using the High F♯ Key (saxgourmet.com)";
pub(crate) const BAND_DIRECTORS: &str = "banddirectorstalkshop.com, fork F♯ and side C";
pub(crate) const SAX_COURSE: &str = "saxophone course, lesson 8 (middle C and side C)";
pub(crate) const INSTRUMENTALIST_SAX: &str = "The Instrumentalist, April 2010, saxophone";
pub(crate) const HARMONICS: &str = "harmonic series";
pub(crate) const VALVES: &str = "valve rule: 2 lowers by one semitone, 1 by two, 3 by three, 4 by five";
pub(crate) const HORN_CHART: &str = "Scribd 570094472 and 377250727, horn charts (where to change sides)";
pub(crate) const PALM_KEYS: &str = "palmkeys.blogspot.com, 22 February 2015, saxophone B-flats";
