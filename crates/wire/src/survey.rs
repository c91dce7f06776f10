//! The whole survey as JSON.

use crate::at::{InBar, Places};
use crate::{
    accidentals, articulation, clefs, counts, dynamics, key, metre, ornaments, range, rhythm, road_map, say,
    study, tempo, terms,
};
use notation::{Finding, Piece};
use schemars::JsonSchema;
use serde::Serialize;
use survey::Question;

/// The version of this contract: the first number changes when something is taken away or means something else.
pub const VERSION: &str = "1.2";

/// A survey: the answers to the twelve questions (those not asked for are absent), and where to look first. Where a player or
/// an instrument was given, also what the page asks of her: `player` and what follows it up to `phrases`, absent otherwise.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(title = "Foreread survey")]
pub struct SurveyJson {
    /// The version of this contract.
    pub version: String,
    /// What was surveyed.
    pub piece: PieceSaid,
    /// Question 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub key: Option<key::Key>,
    /// Question 2.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range: Option<range::Range>,
    /// Question 3: each metre from its bar on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub metre: Option<Vec<metre::Metre>>,
    /// Question 3: pickup, counting in, bars that don't add up.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub metre_more: Option<metre::MetreMore>,
    /// Question 4.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rhythm: Option<rhythm::Rhythm>,
    /// Question 5.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub terms: Option<Vec<terms::Term>>,
    /// Question 6.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tempo: Option<tempo::Tempo>,
    /// Question 7.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub road_map: Option<road_map::RoadMap>,
    /// Question 8: every mark in order.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dynamics: Option<Vec<dynamics::Dynamic>>,
    /// Question 8: extremes, hairpins, sudden changes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dynamics_more: Option<dynamics::DynamicsMore>,
    /// Question 9.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub accidentals: Option<accidentals::Accidentals>,
    /// Question 10: every clef of the source in order.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clefs: Option<Vec<clefs::Clef>>,
    /// Question 10: the bars read in each clef.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clef_use: Option<Vec<clefs::ClefUse>>,
    /// Question 11: each mark, how often and where.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub articulation: Option<Vec<articulation::Mark>>,
    /// Question 11: contrasts, slur patterns, long runs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub articulation_more: Option<articulation::ArticulationMore>,
    /// Question 12: ornaments and grace notes in order; empty if there are none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ornaments: Option<Vec<ornaments::Ornament>>,
    /// The places most likely to go wrong, the worst first; absent where only some questions were asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub look_first: Option<Vec<LookFirst>>,
    /// What the page asks of a player; its members are absent where none was given.
    #[serde(flatten)]
    pub study: Option<study::StudySaid>,
    /// Plain counts of what the source holds, as written.
    pub counts: counts::Counts,
    /// What the reader of the file, the questions and the study for a player found wrong, guessed or odd.
    pub reader_findings: Vec<say::FindingSaid>,
}

/// What was surveyed.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PieceSaid {
    /// Title of work and movement; null if the source gives none.
    pub title: Option<String>,
    /// The composer; null if the source gives none.
    pub composer: Option<String>,
    /// The part's printed name.
    pub part: String,
    /// The part's number, from 1.
    pub part_number: usize,
    /// All parts of the piece by name.
    pub parts: Vec<String>,
    /// The instrument's name; null if the part does not say.
    pub instrument: Option<String>,
    /// The instrument's fixed name.
    pub instrument_id: Option<String>,
    /// Bars as written.
    pub bars: usize,
    /// Notes to play as written: chords once, ties joined, grace notes and cues left out.
    pub notes: usize,
    /// The label of the first and of the last bar.
    pub first_and_last_bar: Vec<InBar>,
    /// Name of the source.
    pub source: String,
    /// SHA-256 of the source.
    pub sha256: String,
    /// The standard it is written in: `MusicXML`, `MEI`, `ABC`, `Humdrum kern`, `MIDI`.
    pub format: String,
    /// Its number in the tunebook, as the source gives it; null if the source is no book of tunes.
    pub tune: Option<String>,
}

/// A place to look at before playing.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct LookFirst {
    /// Label of its first bar.
    pub from_bar: String,
    /// Label of its last bar.
    pub to_bar: String,
    /// Its first bar counted from 0.
    pub from_bar_index: u32,
    /// Its last bar counted from 0.
    pub to_bar_index: u32,
    /// Why, the strongest reason first.
    pub reasons: Vec<String>,
    /// What to do there before playing.
    pub suggestion: String,
}

/// What to write.
#[derive(Clone, Copy, Debug)]
pub struct Written<'a> {
    /// The piece.
    pub piece: &'a Piece,
    /// Its number in the tunebook, if the source is one.
    pub tune: Option<&'a str>,
    /// Which part, as an index.
    pub part: usize,
    /// Its survey.
    pub survey: &'a survey::Survey,
    /// What it asks of a player; `None` if no player or instrument was given.
    pub study: Option<&'a load::Study>,
    /// Which questions.
    pub questions: &'a [Question],
    /// Findings of the reader and of the questions.
    pub findings: &'a [Finding],
}

/// The survey as a JSON value's worth of plain types.
#[must_use]
pub fn survey_json(what: &Written) -> SurveyJson {
    let places = Places { piece: what.piece };
    let s = what.survey;
    let part = what.piece.parts.get(what.part);
    let asked = |question: Question| what.questions.contains(&question);
    let whole = what.questions.len() == Question::ALL.len();
    // Answers that were only worked out for the sake of others stay out.
    fn shown<T>(answer: &Option<T>, asked: bool) -> Option<&T> {
        answer.as_ref().filter(|_| asked)
    }
    let key_answer = shown(&s.key, asked(Question::Key));
    let metre_answer = shown(&s.metre, asked(Question::Metre));
    let dynamics_answer = shown(&s.dynamics, asked(Question::Dynamics));
    let clefs_answer = shown(&s.clefs, asked(Question::Clefs));
    let articulation_answer = shown(&s.articulation, asked(Question::Articulation));
    SurveyJson {
        version: VERSION.to_owned(),
        piece: piece(what),
        key: key_answer.map(|answer| key::key(answer, part, places)),
        range: shown(&s.range, asked(Question::Range)).map(|answer| range::range(answer, places)),
        metre: metre_answer.map(|answer| metre::metres(answer, part, places)),
        metre_more: metre_answer.map(|answer| metre::more(answer, places)),
        rhythm: shown(&s.rhythm, asked(Question::Rhythm)).map(|answer| rhythm::rhythm(answer, places)),
        terms: shown(&s.terms, asked(Question::Terms)).map(|answer| terms::terms(answer, places)),
        tempo: shown(&s.tempo, asked(Question::Tempo)).map(|answer| tempo::tempo(answer, what.study, places)),
        road_map: asked(Question::RoadMap).then(|| road_map::road_map(&s.road_map, places)),
        dynamics: dynamics_answer.map(|answer| dynamics::marks(answer, places)),
        dynamics_more: dynamics_answer.map(|answer| dynamics::more(answer, places)),
        accidentals: shown(&s.accidentals, asked(Question::Accidentals))
            .map(|answer| accidentals::accidentals(answer, places)),
        clefs: clefs_answer.map(|answer| clefs::clefs(answer, places)),
        clef_use: clefs_answer.map(|answer| clefs::uses(answer, places)),
        articulation: articulation_answer.map(|answer| articulation::marks(answer, places)),
        articulation_more: articulation_answer.map(|answer| articulation::more(answer, places)),
        ornaments: shown(&s.ornaments, asked(Question::Ornaments))
            .map(|answer| ornaments::ornaments(answer, places)),
        look_first: whole.then(|| look_first(s, places)),
        study: what.study.map(|study| study::study(study, part, places)),
        counts: counts::counts(&s.counts),
        reader_findings: findings(what),
    }
}

/// Findings of the reader and the survey, then those of the study that are not said already.
pub(crate) fn findings(what: &Written) -> Vec<say::FindingSaid> {
    let mut said = say::findings(what.findings);
    let of_study = what.study.map_or(&[][..], |study| &study.findings);
    let new = of_study.iter().filter(|finding| !what.findings.contains(finding));
    said.extend(new.flat_map(|finding| say::findings(std::slice::from_ref(finding))));
    said
}

/// The survey as JSON text, indented, ending in a line break.
#[must_use]
pub fn survey_text(what: &Written) -> String {
    // Plain data with text keys: writing it into memory cannot fail.
    let mut text = serde_json::to_string_pretty(&survey_json(what)).unwrap_or_default();
    text.push('\n');
    text
}

/// Writes the survey as JSON text with a line end after it, without holding the whole text in memory.
///
/// # Errors
/// What the writer says.
pub fn write_survey(what: &Written, mut out: impl std::io::Write) -> std::io::Result<()> {
    serde_json::to_writer_pretty(&mut out, &survey_json(what))?;
    out.write_all(b"\n")
}

/// Writes only the fields that are wanted by their names, as [`write_survey`] does.
///
/// # Errors
/// What the writer says.
pub fn write_survey_fields(
    what: &Written,
    wanted: impl Fn(&str) -> bool,
    mut out: impl std::io::Write,
) -> std::io::Result<()> {
    let mut value = serde_json::to_value(survey_json(what))?;
    if let Some(fields) = value.as_object_mut() {
        fields.retain(|name, _| wanted(name));
    }
    serde_json::to_writer_pretty(&mut out, &value)?;
    out.write_all(b"\n")
}

pub(crate) fn piece(what: &Written) -> PieceSaid {
    let piece = what.piece;
    let places = Places { piece };
    let name = |index: usize| {
        piece
            .parts
            .get(index)
            .map_or_else(String::new, |part| part.name.trim().to_owned())
    };
    let last = notation::BarIndex::from_usize(piece.bars.len().saturating_sub(1));
    let instrument = what.survey.instrument.as_ref().map(|found| found.instrument);
    PieceSaid {
        title: piece.credits.name(),
        composer: piece
            .credits
            .people
            .iter()
            .find(|(role, _)| role == "composer")
            .map(|(_, who)| who.clone()),
        part: name(what.part),
        part_number: what.part + 1,
        parts: (0..piece.parts.len()).map(name).collect(),
        instrument: instrument.map(|i| i.name.to_owned()),
        instrument_id: instrument.map(|i| i.id.to_owned()),
        bars: piece.bars.len(),
        notes: what.survey.notes,
        first_and_last_bar: vec![places.bar(notation::BarIndex(0)), places.bar(last)],
        source: piece.provenance.source.clone(),
        sha256: piece.provenance.sha256.clone(),
        format: piece.provenance.standard.clone(),
        tune: what.tune.map(str::to_owned),
    }
}

fn look_first(survey: &survey::Survey, places: Places) -> Vec<LookFirst> {
    survey
        .look_first
        .iter()
        .map(|place| LookFirst {
            from_bar: places.label(place.from),
            to_bar: places.label(place.to),
            from_bar_index: place.from.0,
            to_bar_index: place.to.0,
            reasons: place.reasons.iter().map(|reason| reason.says.clone()).collect(),
            suggestion: place.suggestion.to_owned(),
        })
        .collect()
}
