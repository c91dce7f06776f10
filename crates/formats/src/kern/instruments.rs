//! Which instrument does a code stand for? `*Iclars` is a soprano clarinet.
//!
//! Source of the codes and names: Humdrum user's guide, appendix II. Source of the sound ids: MusicXML 4.0, standard sounds.

/// Code, name, sound id (empty where the standard has none that fits).
const TABLE: [(&str, &str, &str); 92] = [
    ("soprn", "Soprano", "voice.soprano"),
    ("mezzo", "Mezzo-soprano", "voice.mezzo-soprano"),
    ("calto", "Contralto", "voice.alto"),
    ("tenor", "Tenor", "voice.tenor"),
    ("barit", "Baritone", "voice.baritone"),
    ("bass", "Bass", "voice.bass"),
    ("cant", "Cantus", "voice.soprano"),
    ("canto", "Canto", "voice.soprano"),
    ("vox", "Voice", "voice.vocals"),
    ("feme", "Female voice", "voice.female"),
    ("male", "Male voice", "voice.male"),
    ("nfant", "Child's voice", "voice.child"),
    ("lyrsp", "Lyric soprano", "voice.soprano"),
    ("drmsp", "Dramatic soprano", "voice.soprano"),
    ("colsp", "Coloratura soprano", "voice.soprano"),
    ("alto", "Alto", "voice.alto"),
    ("ctenor", "Counter-tenor", "voice.countertenor"),
    ("heltn", "Heldentenor", "voice.tenor"),
    ("lyrtn", "Lyric tenor", "voice.tenor"),
    ("bspro", "Basso profondo", "voice.bass"),
    ("bscan", "Basso cantante", "voice.bass"),
    ("arpa", "Harp", "pluck.harp"),
    ("banjo", "Banjo", "pluck.banjo"),
    ("bguit", "Electric bass guitar", "pluck.bass.electric"),
    ("cbass", "Contrabass", "strings.contrabass"),
    ("cello", "Violoncello", "strings.cello"),
    ("cemba", "Harpsichord", "keyboard.harpsichord"),
    ("clavi", "Clavichord", "keyboard.clavichord"),
    ("dulc", "Dulcimer", "pluck.dulcimer"),
    ("eguit", "Electric guitar", "pluck.guitar.electric"),
    ("forte", "Fortepiano", "keyboard.fortepiano"),
    ("guitr", "Guitar", "pluck.guitar"),
    ("hurdy", "Hurdy-gurdy", "strings.hurdy-gurdy"),
    ("liuto", "Lute", "pluck.lute"),
    ("koto", "Koto", "pluck.koto"),
    ("mando", "Mandolin", "pluck.mandolin"),
    ("piano", "Piano", "keyboard.piano"),
    ("pipa", "Pipa", "pluck.pipa"),
    ("sitar", "Sitar", "pluck.sitar"),
    ("tiorb", "Theorbo", "pluck.theorbo"),
    ("ukule", "Ukulele", "pluck.ukulele"),
    ("viola", "Viola", "strings.viola"),
    ("violb", "Bass viola da gamba", "strings.viol.bass"),
    ("viold", "Viola d'amore", "strings.viola-damore"),
    ("violn", "Violin", "strings.violin"),
    ("violp", "Piccolo violin", "strings.violino-piccolo"),
    ("viols", "Treble viola da gamba", "strings.viol.treble"),
    ("violt", "Tenor viola da gamba", "strings.viol.tenor"),
    ("zithr", "Zither", "pluck.zither"),
    ("accor", "Accordion", "keyboard.accordion"),
    ("armon", "Harmonica", "wind.reed.harmonica"),
    ("baset", "Basset horn", "wind.reed.basset-horn"),
    ("calam", "Chalumeau", "wind.reed.chalumeau"),
    ("cangl", "English horn", "wind.reed.english-horn"),
    ("clars", "Clarinet", "wind.reed.clarinet"),
    ("clarp", "Piccolo clarinet", "wind.reed.clarinet.piccolo"),
    ("clara", "Alto clarinet", "wind.reed.clarinet.alto"),
    ("clarb", "Bass clarinet", "wind.reed.clarinet.bass"),
    ("cor", "Horn", "brass.french-horn"),
    ("corno", "Cornett", "brass.cornett"),
    ("cornt", "Cornet", "brass.cornet"),
    ("fagot", "Bassoon", "wind.reed.bassoon"),
    ("fag_c", "Contrabassoon", "wind.reed.contrabassoon"),
    ("fife", "Fife", "wind.flutes.fife"),
    ("flt", "Flute", "wind.flutes.flute"),
    ("flt_a", "Alto flute", "wind.flutes.flute.alto"),
    ("flt_b", "Bass flute", "wind.flutes.flute.bass"),
    ("fltds", "Soprano recorder", "wind.flutes.recorder.soprano"),
    ("fltdn", "Sopranino recorder", "wind.flutes.recorder.sopranino"),
    ("fltda", "Alto recorder", "wind.flutes.recorder.alto"),
    ("fltdt", "Tenor recorder", "wind.flutes.recorder.tenor"),
    ("fltdb", "Bass recorder", "wind.flutes.recorder.bass"),
    ("flugh", "Flugelhorn", "brass.flugelhorn"),
    ("oboe", "Oboe", "wind.reed.oboe"),
    ("oboeD", "Oboe d'amore", "wind.reed.oboe-damore"),
    ("organ", "Organ", "keyboard.organ.pipe"),
    ("picco", "Piccolo", "wind.flutes.flute.piccolo"),
    ("reedo", "Reed organ", "keyboard.organ.reed"),
    ("saxN", "Sopranino saxophone", "wind.reed.saxophone.sopranino"),
    ("saxS", "Soprano saxophone", "wind.reed.saxophone.soprano"),
    ("saxA", "Alto saxophone", "wind.reed.saxophone.alto"),
    ("saxT", "Tenor saxophone", "wind.reed.saxophone.tenor"),
    ("saxR", "Baritone saxophone", "wind.reed.saxophone.baritone"),
    ("saxB", "Bass saxophone", "wind.reed.saxophone.bass"),
    ("saxC", "Contrabass saxophone", "wind.reed.saxophone.contrabass"),
    ("tromt", "Tenor trombone", "brass.trombone.tenor"),
    ("tromb", "Bass trombone", "brass.trombone.bass"),
    ("tromp", "Trumpet", "brass.trumpet"),
    ("tuba", "Tuba", "brass.tuba"),
    ("timpa", "Timpani", "drum.timpani"),
    ("clest", "Celesta", "keyboard.celesta"),
    ("xylo", "Xylophone", "pitched-percussion.xylophone"),
];

/// Instruments whose two staves are one part.
const KEYBOARDS: [&str; 12] = [
    "piano", "forte", "cemba", "clavi", "clest", "organ", "reedo", "porta", "accor", "arpa", "hammd", "synth",
];

/// Name and sound id of a code.
pub(super) fn named(code: &str) -> Option<(&'static str, &'static str)> {
    TABLE
        .iter()
        .find(|(known, ..)| *known == code)
        .map(|(_, name, sound)| (*name, *sound))
}

/// True if one player reads several staves of it.
pub(super) fn is_keyboard(code: &str) -> bool {
    KEYBOARDS.contains(&code)
}
