//! What is in one bar, why is it hard, and how is it played? The survey's and the study's answers, gathered for one bar.

use crate::part::margin;
use crate::part::notes::{Line, Note};
use crate::part::point::{Labels, pointing};
use crate::part::rows::figure;
use crate::prepared::Prepared;
use crate::screen::capital;
use instruments::fingering::{Fingering, diagram, fingering_words};
use load::fingers::Chosen;
use load::{Account, Study};
use maud::{Markup, html};
use notation::{BarIndex, Event, EventKind, Place, Quarters};
use survey::Survey;
use survey::metre::MetreAnswer;
use survey::rhythm::{CountAt, CountingSystem, count_words};
use survey::terms::{PrintedAs, TermHere};

/// Reasons said: to read, for the hands.
const SAID: (usize, usize) = (6, 3);
/// Fingerings shown.
const MOST_FINGERINGS: usize = 8;

/// One bar, explained; `None` if there is no such bar.
pub(crate) fn bar(part: &Prepared, lines: &[Line], bar: BarIndex) -> Option<Markup> {
    part.copy.piece.bars.get(bar.get())?;
    let here = Here::of(part, bar);
    let labels = &here.labels;
    let notes: Vec<&Note> = lines
        .iter()
        .flat_map(|line| &line.notes)
        .filter(|note| note.bars.0 <= bar && bar <= note.bars.1)
        .collect();
    let asks = part
        .sheet
        .bars
        .get(bar.get())
        .map_or("", |cell| cell.asks.as_str());
    Some(html! {
        div class="bar-head" {
            button type="button" class="back" { "Back to the margin" }
            h2 tabindex="-1" { (labels.run(bar, bar)) }
            @if !asks.is_empty() { p class="asks" { (capital(asks)) "." } }
            p class="hear" {
                button type="button" class="hear-bar" data-bar=(bar.0) { "Hear this bar" }
                button type="button" class="hear-slowly" data-bar=(bar.0) { "Hear it slowly" }
            }
        }
        (in_it(&here))
        (why_hard(&here))
        (how_to_play(&here))
        @if !notes.is_empty() {
            section class="pencilled" {
                h3 { "Pencilled and found here" }
                ol class="notes" { @for note in notes { (margin::item(note, labels)) } }
            }
        }
    })
}

/// What is known of the bar.
struct Here<'a> {
    part: &'a Prepared,
    labels: Labels<'a>,
    survey: &'a Survey,
    study: Option<&'a Study>,
    bar: BarIndex,
    events: &'a [Event],
}

impl<'a> Here<'a> {
    fn of(part: &'a Prepared, bar: BarIndex) -> Self {
        let piece = &part.copy.piece;
        Self {
            part,
            labels: Labels::of(piece),
            survey: &part.copy.shown.survey,
            study: part.copy.shown.study.as_ref(),
            bar,
            events: piece.parts.first().map_or(&[][..], |part| part.bar_events(bar)),
        }
    }

    fn has(&self, place: Place) -> bool {
        place.bar == self.bar
    }

    /// `beat 2`, `after beat 2`.
    fn beat(&self, offset: Quarters) -> String {
        let beat = self.said_beat(offset);
        let after = if beat.fract() > 1e-6 { "after " } else { "" };
        format!("{after}beat {:.0}", beat.floor())
    }

    fn said_beat(&self, offset: Quarters) -> f64 {
        let grid = self.metre().and_then(|metre| metre.grid(self.bar));
        grid.map_or_else(|| offset.to_f64() + 1.0, |grid| grid.said_beat(offset))
    }

    fn metre(&self) -> Option<&'a MetreAnswer> {
        self.survey.metre.as_ref()
    }

    /// How the page is counted by whoever asks.
    fn system(&self) -> CountingSystem {
        self.survey
            .rhythm
            .as_ref()
            .map_or_else(CountingSystem::default, |rhythm| rhythm.system)
    }
}

/// A statement with a word before it.
struct Said {
    label: &'static str,
    text: String,
}

fn said(label: &'static str, text: impl Into<String>) -> Said {
    Said {
        label,
        text: text.into(),
    }
}

fn list(all: &[Said]) -> Markup {
    html! { dl { @for one in all { dt { (one.label) } dd { (one.text) } } } }
}

fn in_it(here: &Here) -> Markup {
    let mut all = signs(here);
    all.extend(words(here));
    html! {
        section {
            h3 { "What is in it" }
            (counted(here))
            (list(&all))
        }
    }
}

/// A note or rest, and the word that is said at it.
struct Column {
    offset: Quarters,
    name: String,
    word: String,
    /// The note, for the pencil.
    note: Option<String>,
}

/// Each note and rest over the word that is said at it.
fn counted(here: &Here) -> Markup {
    let Some(metre) = here.metre() else {
        return html! {};
    };
    let at = slow_or_not(metre, here.bar);
    let words = count_words(metre, here.bar, here.system(), at);
    let mut columns: Vec<Column> = Vec::new();
    for event in here.events.iter().filter(|event| !event.is_grace()) {
        let name = match &event.kind {
            EventKind::Rest { .. } => "rest".to_owned(),
            EventKind::Space => continue,
            EventKind::Chord(_) => event
                .top_pitch()
                .map_or_else(|| "×".to_owned(), |pitch| pitch.sign()),
        };
        match columns
            .iter_mut()
            .find(|column| column.offset == event.place.offset)
        {
            Some(column) => {
                column.name.push(' ');
                column.name.push_str(&name);
            }
            None => columns.push(Column {
                offset: event.place.offset,
                name,
                word: String::new(),
                note: event.is_note().then(|| event.id.to_string()),
            }),
        }
    }
    for word in words {
        match columns.iter_mut().find(|column| column.offset == word.offset) {
            Some(column) => column.word = word.text,
            None => columns.push(Column {
                offset: word.offset,
                name: String::new(),
                word: word.text,
                note: None,
            }),
        }
    }
    columns.sort_by_key(|column| column.offset);
    if columns.is_empty() {
        return html! {};
    }
    html! {
        ol class="counted" aria-label="Notes, and how to count them" {
            @for column in &columns {
                li {
                    @if let Some(note) = &column.note {
                        button type="button" class="name at-note" data-bar=(here.bar.0) data-note=(note) { (column.name) }
                    } @else {
                        span class="name" { @if column.name.is_empty() { "\u{a0}" } @else { (column.name) } }
                    }
                    span class="word" { @if column.word.is_empty() { "\u{a0}" } @else { (column.word) } }
                }
            }
        }
    }
}

/// A bar felt as one is counted in its written beats.
fn slow_or_not(metre: &MetreAnswer, bar: BarIndex) -> CountAt {
    match metre.grid(bar) {
        Some(grid) if grid.beats().len() < 2 => CountAt::Slow,
        _ => CountAt::Tempo,
    }
}

/// Key, dynamics, marks.
fn signs(here: &Here) -> Vec<Said> {
    let survey = here.survey;
    let mut all = Vec::new();
    if let Some(key) = &survey.key
        && let Some(region) = key
            .regions
            .iter()
            .find(|region| region.from <= here.bar && here.bar <= region.to)
    {
        let name = performance::ornament::LocalKey::from(region).name();
        all.push(said("key", format!("about here {name}")));
    }
    if let Some(accidentals) = &survey.accidentals {
        let altered: Vec<String> = accidentals
            .ledger
            .iter()
            .filter(|entry| here.has(entry.place) && !entry.hidden)
            .map(|entry| {
                let silent = if entry.carried {
                    ", without a sign of its own"
                } else {
                    ""
                };
                format!("{}{silent}", entry.written.sign_natural())
            })
            .collect();
        if !altered.is_empty() {
            all.push(said("altered", altered.join("; ")));
        }
    }
    if let Some(dynamics) = &survey.dynamics {
        for mark in dynamics.marks.iter().filter(|mark| here.has(mark.place)) {
            all.push(said("dynamics", format!("{}: {}", mark.text, mark.means)));
        }
        if dynamics.hairpin_bars.contains(&here.bar) {
            all.push(said("dynamics", "a hairpin".to_owned()));
        }
    }
    if let Some(articulation) = &survey.articulation {
        let marks = articulation.marks.iter().chain(&articulation.technical);
        for mark in marks.filter(|mark| mark.bars.contains(&here.bar)) {
            let means = if mark.means.is_empty() {
                String::new()
            } else {
                format!(": {}", mark.means)
            };
            all.push(said("marks", format!("{}{means}", mark.mark)));
        }
    }
    all
}

/// Words printed here, explained.
fn words(here: &Here) -> Vec<Said> {
    let Some(terms) = &here.survey.terms else {
        return Vec::new();
    };
    // Dynamic letters are explained with the dynamics.
    let is_word = |word: &&TermHere| word.printed_as != PrintedAs::Dynamic;
    let found = terms
        .all
        .iter()
        .filter(|word| here.has(word.place))
        .filter(is_word);
    found
        .filter_map(|word| {
            let term = terms.terms.get(word.term)?;
            let meaning = term
                .meaning
                .as_deref()
                .unwrap_or("no word of it is in the dictionary: ask");
            let mut text = format!("{}: {meaning}", word.text.replace('\n', " "));
            for more in term.traps.iter().chain(&term.advice) {
                text.push_str("; ");
                text.push_str(more);
            }
            Some(said("words", text))
        })
        .collect()
}

fn why_hard(here: &Here) -> Markup {
    let Some(load) = here.study.and_then(|study| study.bars.get(here.bar.get())) else {
        return html! {};
    };
    let reading = largest(&load.reading, SAID.0);
    let hands = largest(&load.hand, SAID.1);
    let alike = here.study.and_then(|study| study.alike.of(here.bar));
    if reading.is_empty() && hands.is_empty() && alike.is_none() {
        return html! {};
    }
    html! {
        section {
            h3 { "What it asks" }
            @if let Some(alike) = alike {
                p {
                    "It " (pointing(&alike.how.words(&here.labels.label(alike.like), "bar"), &[alike.like]))
                    @for (at, difference) in alike.differences.iter().enumerate() { @if at == 0 { ": " } @else { "; " } (difference) }
                    "."
                }
            }
            dl {
                @if !reading.is_empty() { dt { "to read" } dd { (capital(&reading.join("; "))) } }
                @if !hands.is_empty() { dt { "hands" } dd { (capital(&hands.join("; "))) } }
            }
        }
    }
}

/// The largest reasons, no words twice.
fn largest(account: &Account, most: usize) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    for share in account
        .largest_first()
        .into_iter()
        .filter(|share| share.is_reason())
    {
        if said.len() < most && !said.contains(&share.why) {
            said.push(share.why.clone());
        }
    }
    said
}

fn how_to_play(here: &Here) -> Markup {
    let mut all: Vec<Said> = Vec::new();
    if let Some(study) = here.study {
        for spot in study
            .spots
            .iter()
            .filter(|spot| spot.from <= here.bar && here.bar <= spot.to)
        {
            all.push(said("practise", spot.suggestion));
        }
        all.extend(breaths(here, study));
        all.extend(fingers_said(here, study));
    }
    let ornaments = ornaments(here);
    let pictures = pictures(here);
    let choices = fingerings_to_choose(here);
    if all.is_empty() && ornaments.is_empty() && pictures.is_empty() {
        return html! {};
    }
    html! {
        section {
            h3 { "How to play it" }
            (list(&all))
            @for (text, at) in &ornaments {
                p class="ornament" {
                    (capital(text)) " "
                    button type="button" class="hear-ornament" data-at=(at) { "Hear it plain, then played" }
                }
            }
            @if !pictures.is_empty() {
                div class="figures" {
                    @for (name, drawn, words) in &pictures { (figure(drawn, name)) span class="unseen" { (words) } }
                }
            }
            @if !choices.is_empty() {
                details class="choose-fingerings" {
                    summary { "Choose other fingerings" }
                    @for choice in &choices {
                        label { (choice.said) " " select class="finger" data-bar=(here.bar.0) data-note=(choice.note) {
                            option value="" selected[!choice.own] { "as proposed" }
                            @for (name, now) in &choice.names { option value=(name) selected[choice.own && *now] { (name) } }
                        } }
                    }
                }
            }
        }
    }
}

/// A note for which there is more than one fingering.
struct ToChoose {
    said: String,
    note: String,
    /// Names, and which is taken now.
    names: Vec<(String, bool)>,
    /// Whether the teacher chose it.
    own: bool,
}

fn fingerings_to_choose(here: &Here) -> Vec<ToChoose> {
    let Some(study) = here.study else {
        return Vec::new();
    };
    let Some(chart) = study.fingering.chart else {
        return Vec::new();
    };
    let notes = study.fingering.notes.iter().filter(|note| here.has(note.place));
    notes
        .filter_map(|note| {
            let known = chart.fingerings(note.as_pitch.unwrap_or(note.written));
            let names: Vec<(String, bool)> = known
                .iter()
                .map(|one| (one.name.to_string(), one.name == note.fingering.name))
                .collect();
            (names.len() > 1).then(|| ToChoose {
                said: format!("{}, {}", note.written.sign(), here.beat(note.place.offset)),
                note: note.event.to_string(),
                names,
                own: note.own,
            })
        })
        .collect()
}

fn breaths(here: &Here, study: &Study) -> Vec<Said> {
    let first = study.breath.at_first.iter();
    let mut breaths: Vec<&load::breath::Breath> = first.filter(|breath| here.has(breath.place)).collect();
    breaths.sort_by_key(|breath| breath.place);
    breaths
        .into_iter()
        .map(|breath| {
            let slow = if breath.optional {
                ", only while it is slow"
            } else {
                ""
            };
            said(
                "breath",
                format!("before {}{slow}: {}", here.beat(breath.place.offset), breath.why),
            )
        })
        .collect()
}

fn fingers_said(here: &Here, study: &Study) -> Vec<Said> {
    let answer = &study.fingering;
    let mut all = Vec::new();
    for note in answer.notes.iter().filter(|note| here.has(note.place)) {
        let mut words: Vec<String> = Vec::new();
        words.extend(note.said.clone());
        if note.alternate || note.own && !note.basic {
            words.push(format!(
                "{}: {}",
                note.fingering.name,
                fingering_words(&note.fingering)
            ));
            words.extend(note.reason.clone());
        }
        if !words.is_empty() {
            all.push(said(
                "fingering",
                format!("{}: {}", note.written.sign(), words.join("; ")),
            ));
        }
    }
    for trill in answer.trills.iter().filter(|trill| here.has(trill.place)) {
        all.push(said(
            "trill",
            format!("{}–{}: {}", trill.main.sign(), trill.upper.sign(), trill.says),
        ));
    }
    let mut tunings: Vec<String> = Vec::new();
    for note in answer.notes.iter().filter(|note| here.has(note.place)) {
        if let Some(tendency) = &note.tendency {
            let text = format!("{}: {}", note.written.sign(), tendency.says);
            if !tunings.contains(&text) {
                tunings.push(text);
            }
        }
    }
    all.extend(tunings.into_iter().map(|text| said("listen", text)));
    all.dedup_by(|next, kept| next.text == kept.text);
    all
}

/// Ornaments and grace notes written out in words, with their place for hearing them.
fn ornaments(here: &Here) -> Vec<(String, String)> {
    let Some(answer) = &here.survey.ornaments else {
        return Vec::new();
    };
    let at = |place: Place| {
        format!(
            "{}:{}",
            here.part.copy.piece.label(place.bar),
            here.said_beat(place.offset)
        )
    };
    let signs = answer.ornaments.iter().filter(|found| here.has(found.place));
    let mut all: Vec<(String, String)> = signs.map(|found| (found.says(), at(found.place))).collect();
    let graces = answer.graces.iter().filter(|group| here.has(group.place));
    all.extend(graces.map(|group| (group.says.clone(), at(group.place))));
    all
}

/// The fingerings of the bar's notes, each once, those that are not the usual ones first.
fn pictures(here: &Here) -> Vec<(String, String, String)> {
    let Some(study) = here.study else {
        return Vec::new();
    };
    let mut seen: Vec<&Chosen> = Vec::new();
    let notes = study.fingering.notes.iter().filter(|note| here.has(note.place));
    for note in notes {
        let known = |other: &&Chosen| other.written == note.written && other.state == note.state;
        if !seen.iter().any(known) {
            seen.push(note);
        }
    }
    seen.sort_by_key(|note| !note.alternate);
    seen.truncate(MOST_FINGERINGS);
    seen.sort_by_key(|note| note.written.semitones());
    seen.into_iter()
        .map(|note| {
            let mut drawn: Fingering = (*note.fingering).clone();
            drawn.state = note.state;
            (note.written.sign(), diagram(&drawn), fingering_words(&drawn))
        })
        .collect()
}
