//! How does a study read on paper? The prep sheet and the card of one written out by hand, and of demo pieces.

use crate::{DEMOS, Studied, body, check, made};
use instruments::Experience;
use sheet::{
    BarWord, Excerpt, Excerpts, Handed, LEVELS, Paper, PrepSheet, StudyTime, Terminal, card, card_html,
    card_text, card_typst, prep_html, prep_sheet, prep_typst,
};
use survey::Question;

fn handed() -> Handed {
    Handed {
        player: "Ivo Tarrant".to_owned(),
        date: "12 March".to_owned(),
    }
}

fn prep(studied: &Studied, study: bool) -> PrepSheet {
    prep_sheet(&studied.composed(&Question::ALL, study), &handed())
}

/// What comes after the template, which has a file of its own.
fn data<'a>(source: &'a str, call: &str) -> &'a str {
    let at = source.rfind(call).unwrap();
    &source[at..]
}

/// An excerpt for each slot.
fn excerpts(sheet: &PrepSheet) -> Excerpts {
    let each = sheet.slots.iter().map(|slot| {
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"60mm\" height=\"14mm\" viewBox=\"0 0 60 14\"><style>.x{{}}</style>\
             <g id=\"a\"/><use href=\"#a\"/><title>{}</title></svg>",
            slot.id
        );
        (slot.id.clone(), Excerpt::of(svg).unwrap())
    });
    each.collect()
}

#[test]
fn a_study_reads_on_paper_as_it_did() {
    for name in ["flute", "viola"] {
        let studied = made::studied(name);
        let sheet = prep(&studied, true);
        let document = prep_typst(&sheet, &excerpts(&sheet), Paper::A4, BarWord::Bar);
        check(&format!("prep-{name}.typ"), data(&document.source, "#prep("));
        if name == "flute" {
            let page = prep_html(&sheet, &excerpts(&sheet), BarWord::Bar);
            check("prep-flute.html", body(&page));
        }
    }
}

#[test]
fn the_card_reads_as_it_did() {
    let studied = made::studied("flute");
    let what = studied.composed(&Question::ALL, true);
    let cards = [card(&what, StudyTime::Sixty), card(&what, StudyTime::Thirty)];
    let how = Terminal {
        width: 80,
        styled: false,
        bar_word: BarWord::Bar,
    };
    let text: Vec<String> = cards.iter().map(|card| card_text(card, how)).collect();
    check("card-flute.txt", &text.join("\n"));
    check(
        "card-flute.html",
        body(&card_html(&cards, &Excerpts::new(), BarWord::Bar)),
    );
    let document = card_typst(&cards, &Excerpts::new(), Paper::Letter, BarWord::Bar);
    check("card-flute.typ", data(&document.source, "#cards("));
}

#[test]
fn a_card_without_a_study_stands_for_anybody() {
    for name in DEMOS {
        let studied = Studied::of(name, Experience::Student);
        for study in [true, false] {
            let what = studied.composed(&Question::ALL, study);
            for time in [StudyTime::Sixty, StudyTime::Thirty] {
                let card = card(&what, time);
                let sum: u16 = card.steps.iter().map(|step| step.seconds).sum();
                assert_eq!((sum, card.seconds), (time.seconds(), time.seconds()), "{name}");
                assert!(card.steps.is_sorted_by_key(|step| step.look), "{name}");
                assert!(card.steps.iter().all(|step| !step.says.is_empty()), "{name}");
            }
        }
    }
}

/// Who sings has nothing to finger.
#[test]
fn a_singer_hears_instead_of_fingering() {
    let text = |instrument| {
        let studied = made::studied(instrument);
        let card = card(&studied.composed(&Question::ALL, true), StudyTime::Sixty);
        card.steps
            .iter()
            .map(|step| step.doing)
            .collect::<Vec<_>>()
            .join("; ")
    };
    assert!(text("flute").contains("finger its scale"));
    assert!(text("voice-soprano").contains("hear its scale") && !text("voice-soprano").contains("finger"));
}

/// Excerpts are few, of real bars, each once, and only where something shows them.
#[test]
fn slots_are_few_and_all_of_them_stand_on_the_sheet() {
    for name in DEMOS {
        let studied = Studied::of(name, Experience::Intermediate);
        for study in [true, false] {
            let whole = prep(&studied, study);
            for level in 0..LEVELS {
                let sheet = whole.at(level);
                let mut shown: Vec<&String> = sheet.answers.iter().filter_map(|a| a.slot.as_ref()).collect();
                let brackets = sheet.look_first.items.iter().chain(&sheet.spots.items);
                shown.extend(brackets.filter_map(|bracket| bracket.slot.as_ref()));
                let mut slots: Vec<&String> = sheet.slots.iter().map(|slot| &slot.id).collect();
                assert!(slots.len() <= 8, "{name}: {}", slots.len());
                shown.sort();
                slots.sort();
                assert_eq!(shown, slots, "{name} at level {level}");
                slots.dedup();
                assert_eq!(slots.len(), sheet.slots.len());
                for slot in &sheet.slots {
                    assert!(slot.from <= slot.to && slot.to.get() < studied.piece.bars.len());
                    assert!(!slot.alt.is_empty() && slot.room_mm > slot.staff_mm);
                }
            }
        }
    }
}

/// Each level says no more than the one before, and what is left out is counted.
#[test]
fn levels_leave_out_more_and_more_and_say_so() {
    for name in DEMOS {
        let studied = Studied::of(name, Experience::Intermediate);
        let whole = prep(&studied, true);
        let none = Excerpts::new();
        let length = |level: usize| {
            prep_typst(&whole.at(level), &none, Paper::A4, BarWord::Bar)
                .source
                .len()
        };
        assert!(
            (1..LEVELS).all(|level| length(level) <= length(level - 1)),
            "{name}"
        );
        let least = whole.at(LEVELS - 1);
        assert_eq!(whole.at(99).level, LEVELS - 1);
        let all = whole.spots.items.len() + whole.spots.more;
        assert_eq!(least.spots.items.len() + least.spots.more, all, "{name}");
        let all = whole.glossary.items.len() + whole.glossary.more;
        assert_eq!(least.glossary.items.len() + least.glossary.more, all, "{name}");
        // Cutting twice is cutting once.
        assert_eq!(whole.at(2).at(4).spots, whole.at(4).spots, "{name}");
    }
}

/// A page says each excerpt in words, keeps ids apart, and has one style and nothing that a strict policy forbids.
#[test]
fn the_page_is_strict_and_accessible() {
    let studied = Studied::of("sealed_door", Experience::Intermediate);
    // A page leaves out a little from the beginning, so that it prints on two sheets.
    let sheet = prep(&studied, true).at(1);
    let page = prep_html(&sheet, &excerpts(&sheet), BarWord::Bar);
    assert_eq!(page.matches("<style>").count(), 1);
    assert!(!page.contains("<script") && !page.contains(" style=\"") && !page.contains(" onclick"));
    assert_eq!(
        page.matches("role=\"img\" aria-label=").count(),
        sheet.slots.len()
    );
    let mut ids: Vec<&str> = page
        .split(" id=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect();
    let all = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), all, "an id stands twice");
    for id in page
        .split("aria-labelledby=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
    {
        assert!(ids.binary_search(&id).is_ok(), "{id}");
    }
    // Without the engraver the sheet is whole but for the pictures.
    let plain = prep_html(&sheet, &Excerpts::new(), BarWord::Bar);
    assert!(!plain.contains("class=\"excerpt\"") && plain.contains("Trouble spots"));
}

#[test]
fn measures_for_those_who_say_measures() {
    let studied = made::studied("flute");
    let sheet = prep(&studied, true);
    let document = prep_typst(&sheet, &Excerpts::new(), Paper::A4, BarWord::Measure);
    let said = data(&document.source, "#prep(");
    assert!(said.contains("\"measure\u{a0}2\"") && said.contains("into measure\u{a0}3"));
}

/// What is weighed inside is said in words.
#[test]
fn nothing_is_said_in_the_words_of_the_workshop() {
    for name in DEMOS {
        let studied = Studied::of(name, Experience::Student);
        let what = studied.composed(&Question::ALL, true);
        let sheet = prep_sheet(&what, &handed());
        let said = prep_typst(&sheet, &Excerpts::new(), Paper::A4, BarWord::Bar).source;
        let cards = [card(&what, StudyTime::Sixty)];
        let cards = card_typst(&cards, &Excerpts::new(), Paper::A4, BarWord::Bar).source;
        for said in [data(&said, "#prep("), data(&cards, "#cards(")] {
            let words: Vec<String> = said
                .split(|c: char| !c.is_alphabetic())
                .map(str::to_lowercase)
                .collect();
            for word in ["bits", "entropy", "cost", "costs", "weight", "nan", "inf"] {
                assert!(!words.iter().any(|said| said == word), "{name}: {word}");
            }
        }
    }
}
