//! Which questions are asked of a page? Twelve, in the order in which a careful reader asks them.

/// One of the twelve questions.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
#[expect(missing_docs, reason = "each question is asked by the module of its name")]
pub enum Question {
    Key,
    Range,
    Metre,
    Rhythm,
    Terms,
    Tempo,
    RoadMap,
    Dynamics,
    Accidentals,
    Clefs,
    Articulation,
    Ornaments,
}

impl Question {
    /// All of them, in reading order.
    pub const ALL: [Self; 12] = [
        Self::Key,
        Self::Range,
        Self::Metre,
        Self::Rhythm,
        Self::Terms,
        Self::Tempo,
        Self::RoadMap,
        Self::Dynamics,
        Self::Accidentals,
        Self::Clefs,
        Self::Articulation,
        Self::Ornaments,
    ];

    /// The name in JSON and on the command line.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Key => "key",
            Self::Range => "range",
            Self::Metre => "metre",
            Self::Rhythm => "rhythm",
            Self::Terms => "terms",
            Self::Tempo => "tempo",
            Self::RoadMap => "road_map",
            Self::Dynamics => "dynamics",
            Self::Accidentals => "accidentals",
            Self::Clefs => "clefs",
            Self::Articulation => "articulation",
            Self::Ornaments => "ornaments",
        }
    }

    /// The question of a name; hyphens, spaces and case don't matter, and `meter` is read too.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        let name = name.trim().to_lowercase().replace(['-', ' '], "_");
        let name = if name == "meter" { "metre" } else { name.as_str() };
        Self::ALL.into_iter().find(|question| question.id() == name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_question_is_found_by_the_name_she_types() {
        assert_eq!(Question::from_name("road-map"), Some(Question::RoadMap));
        assert_eq!(Question::from_name(" Road map"), Some(Question::RoadMap));
        assert_eq!(Question::from_name("meter"), Some(Question::Metre));
        assert_eq!(Question::from_name("colour"), None);
    }
}
