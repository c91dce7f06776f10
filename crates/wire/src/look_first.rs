//! What is kept of one time of looking first? The questions, her answers, and what there was to see, each with its bars.

use notation::{BarIndex, Piece};
use practice::look_first::{Answer, Ask, Compared, Said, Time};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The version of this form.
pub const LOOK_FIRST_VERSION: u32 = 1;

/// One time of looking first.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "Foreread, looking first")]
pub struct LookFirstJson {
    /// The version of this form.
    pub version: u32,
    /// The clock: `30`, `60` or `free`.
    pub clock: String,
    /// How long she looked, in seconds.
    pub used_seconds: f64,
    /// Question by question, in the order in which they were put.
    pub questions: Vec<LookedAt>,
}

/// One question.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize, JsonSchema)]
pub struct LookedAt {
    /// Its name in JSON: one of the twelve questions, `hardest` or `returns`.
    pub question: String,
    /// Its heading.
    pub name: String,
    /// The routine comes to it in the time that there was.
    pub within_time: bool,
    /// `seen`, `half`, `missed` or `not_looked`.
    pub verdict: String,
    /// What was asked; of choices, then of bars.
    pub asked: Vec<String>,
    /// What she chose, in words; `null` if she did not.
    pub chosen: Option<Vec<String>>,
    /// The bars she pointed at, by their labels; empty for “nowhere”, `null` if she did not.
    pub pointed: Option<Vec<String>>,
    /// What is said of it, what was missed first.
    pub said: Vec<LookSaid>,
    /// What is worth knowing in any case; may be empty.
    pub beside: String,
}

/// One thing said.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize, JsonSchema)]
pub struct LookSaid {
    /// `seen`, `half`, `missed` or `not_looked`.
    pub verdict: String,
    /// What there is to see.
    pub says: String,
    /// The survey's evidence for it; may be empty.
    pub evidence: String,
    /// The bars, by their labels, the place itself first.
    pub bars: Vec<String>,
    /// The same by their place in the piece, from 0.
    pub at: Vec<u32>,
}

/// What is kept of a look at a piece.
#[must_use]
pub fn look_first_json(
    piece: &Piece,
    time: Time,
    used_seconds: f64,
    asks: &[Ask],
    answers: &[Answer],
    compared: &[Compared],
) -> LookFirstJson {
    LookFirstJson {
        version: LOOK_FIRST_VERSION,
        clock: time.id().to_owned(),
        used_seconds,
        questions: asks
            .iter()
            .filter_map(|ask| {
                let compared = compared.iter().find(|compared| compared.look == ask.look)?;
                let answer = answers.iter().find(|answer| answer.look == ask.look);
                Some(looked_at(piece, time, ask, answer, compared))
            })
            .collect(),
    }
}

fn looked_at(piece: &Piece, time: Time, ask: &Ask, answer: Option<&Answer>, compared: &Compared) -> LookedAt {
    let choices = ask.choose.as_ref();
    let chosen = answer.and_then(|answer| answer.chosen.as_ref()).map(|chosen| {
        let said = |index: &usize| choices.and_then(|choosing| choosing.choices.get(*index));
        chosen
            .iter()
            .filter_map(said)
            .map(|choice| choice.says.clone())
            .collect()
    });
    let pointed = answer.and_then(|answer| answer.pointed.as_ref());
    let asks = choices.map(|choosing| choosing.asks.clone());
    LookedAt {
        question: ask.look.id().to_owned(),
        name: ask.look.name().to_owned(),
        within_time: time.reached().contains(&ask.look),
        verdict: compared.verdict.id().to_owned(),
        asked: asks
            .into_iter()
            .chain(ask.point.as_ref().map(|pointing| pointing.asks.clone()))
            .collect(),
        chosen,
        pointed: pointed.map(|bars| labels(piece, bars)),
        said: compared.said.iter().map(|said| look_said(piece, said)).collect(),
        beside: compared.beside.clone(),
    }
}

fn look_said(piece: &Piece, said: &Said) -> LookSaid {
    let there: Vec<BarIndex> = said
        .bars
        .iter()
        .copied()
        .filter(|bar| bar.get() < piece.bars.len())
        .collect();
    LookSaid {
        verdict: said.verdict.id().to_owned(),
        says: said.says.clone(),
        evidence: said.evidence.clone(),
        bars: labels(piece, &there),
        at: there.iter().map(|bar| bar.0).collect(),
    }
}

fn labels(piece: &Piece, bars: &[BarIndex]) -> Vec<String> {
    bars.iter()
        .map(|bar| piece.label(*bar).trim().to_owned())
        .collect()
}

/// As it is kept.
#[must_use]
pub fn look_first_text(look: &LookFirstJson) -> String {
    serde_json::to_string(look).unwrap_or_default()
}

/// What was kept; `None` if it is of no form that is known.
#[must_use]
pub fn read_look_first(text: &str) -> Option<LookFirstJson> {
    let look: LookFirstJson = serde_json::from_str(text).ok()?;
    (look.version == LOOK_FIRST_VERSION).then_some(look)
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;
    use practice::look_first::{Looked, asks, compare};
    use survey::{Context, Options, Question};

    #[test]
    fn a_look_is_kept_and_read_again() {
        let piece = sketch("key:1 metre:4/4 G4/q B4/q D5/q G5/q | F#5/q E5/q D5/h | G4/w |.").unwrap();
        let survey = survey::survey(&piece, 0, &Question::ALL, &Options::default()).unwrap();
        let ctx = Context::new(&piece, 0).unwrap();
        let looked = Looked {
            ctx: &ctx,
            survey: &survey,
            study: None,
        };
        let asked = asks(&looked, Time::Thirty, 5);
        let answers = [Answer {
            look: asked[0].look,
            chosen: Some(vec![0, 77]),
            pointed: Some(vec![BarIndex(1)]),
        }];
        let compared = compare(&asked, &answers);
        let kept = look_first_json(&piece, Time::Thirty, 12.5, &asked, &answers, &compared);
        assert_eq!(read_look_first(&look_first_text(&kept)).as_ref(), Some(&kept));
        let key = &kept.questions[0];
        assert_eq!((key.question.as_str(), key.within_time), ("key", true));
        assert_eq!(
            key.chosen.as_ref().map(Vec::len),
            Some(1),
            "a choice that there was not is none"
        );
        assert_eq!(key.pointed.as_deref(), Some(["2".to_owned()].as_slice()));
        let last = kept.questions.last().unwrap();
        assert_eq!((last.verdict.as_str(), last.within_time), ("not_looked", false));
        assert!(read_look_first("{}").is_none() && read_look_first("nothing").is_none());
    }
}
