//! What sorts of words stand on a part, and in which languages?

/// The sort of a term.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// How fast (Allegro, Langsam).
    Tempo,
    /// Slower, faster, back, held, free (rit., a tempo).
    ChangeOfTempo,
    /// How loud (mf, mezza voce, sfz).
    Dynamic,
    /// Louder or softer over time (cresc.).
    ChangeOfDynamic,
    /// Mood or manner (dolce).
    Character,
    /// How the sound is made, who plays, which octave (pizz., a2, 8va).
    Technique,
    /// How notes begin, end and join (stacc.).
    Articulation,
    /// Where to go, what to repeat (D.C. al Fine).
    RoadMap,
    /// The name of an instrument or voice.
    Instrument,
    /// The name of a piece, dance or section (Trio).
    Form,
    /// A word that only shades another (molto, sempre).
    Modifier,
}

impl Kind {
    /// The plain name a musician reads.
    pub fn name(self) -> &'static str {
        match self {
            Kind::Tempo => "tempo",
            Kind::ChangeOfTempo => "change of tempo",
            Kind::Dynamic => "dynamic",
            Kind::ChangeOfDynamic => "change of dynamic",
            Kind::Character => "character",
            Kind::Technique => "technique",
            Kind::Articulation => "articulation",
            Kind::RoadMap => "road map",
            Kind::Instrument => "instrument",
            Kind::Form => "form",
            Kind::Modifier => "modifier",
        }
    }

    /// The nearest of the six kinds that the survey's JSON names: `tempo`, `change of tempo`, `dynamic`,
    /// `character`, `technique`, `road map`.
    pub fn survey_name(self) -> &'static str {
        match self {
            Kind::ChangeOfDynamic => Kind::Dynamic.name(),
            Kind::Articulation | Kind::Instrument => Kind::Technique.name(),
            Kind::Form | Kind::Modifier => Kind::Character.name(),
            other => other.name(),
        }
    }
}

/// The language a term is listed under.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Language {
    /// Italian.
    Italian,
    /// French.
    French,
    /// German.
    German,
    /// English.
    English,
    /// Latin.
    Latin,
}

impl Language {
    /// The plain name.
    pub fn name(self) -> &'static str {
        match self {
            Language::Italian => "Italian",
            Language::French => "French",
            Language::German => "German",
            Language::English => "English",
            Language::Latin => "Latin",
        }
    }
}

/// What a small word does to the word beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    Degree,
    More,
    Less,
    NotMuch,
    Always,
    Suddenly,
    Gradually,
    Almost,
    Possible,
    And,
    But,
    Or,
    With,
    Without,
    Like,
    Not,
    Until,
    Thing,
    Other,
}
