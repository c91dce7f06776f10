//! Does any page get a sheet and a card? Random pieces with all that a page can hold, and hostile words.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test may fail"
)]

use instruments::Experience;
use load::{Player, Wishes};
use notation::testing::{self, Palette};
use notation::{Piece, sketch};
use practice::plan::{Asked, DaysOff, Occasion, Unplannable, Work};
use proptest::prelude::*;
use sheet::{
    BarWord, Composed, Detail, Excerpts, Handed, LEVELS, Paper, PlanShown, PrepSheet, StudyTime, card,
    card_typst, plan_html, plan_page, plan_sheet, plan_typst, plans_typst, prep_html, prep_sheet, prep_typst,
};
use survey::{Context, Options, Question};

/// What stands after the template: a call with literals only. Outside of strings there may be only our own keys, numbers and
/// brackets that match; every string is closed.
fn literal_only(source: &str, call: &str) -> Result<(), String> {
    let at = source.rfind(&format!("\n#{call}(")).ok_or("no call")?;
    let data = source.get(at + call.len() + 2..).ok_or("no data")?.trim_end();
    let mut depth = 0_i32;
    let mut chars = data.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '(' => depth += 1,
            ')' => depth -= 1,
            '"' => loop {
                match chars.next().ok_or("a string without an end")? {
                    '"' => break,
                    '\\' => match chars.next() {
                        Some('"' | '\\') => {}
                        Some('u') => {
                            let code: String = chars.by_ref().take(6).collect();
                            if code != "{200b}" {
                                return Err(format!("an escape that is not ours: {code}"));
                            }
                        }
                        other => return Err(format!("an escape that is not ours: {other:?}")),
                    },
                    c if c.is_control() => return Err(format!("a control sign {c:?}")),
                    _ => {}
                }
            },
            'a'..='z' | '0'..='9' | '.' | '-' | ',' | ':' | ' ' | '\n' => {}
            other => return Err(format!("{other:?} outside of a string")),
        }
        if depth < 0 {
            return Err("a bracket too many".to_owned());
        }
    }
    if depth == 0 {
        Ok(())
    } else {
        Err("a bracket is open".to_owned())
    }
}

fn with_sheets(piece: &Piece, part: usize, experience: Option<Experience>, test: impl Fn(&Composed)) {
    let survey = survey::survey(piece, part, &Question::ALL, &Options::default()).expect("a part");
    let ctx = Context::new(piece, part).expect("a part");
    let instrument = survey.instrument.as_ref().map(|found| found.instrument);
    let study = experience.map(|experience| {
        let player = Player::usual(instrument, experience);
        load::study(&ctx, &survey, &player, &Wishes::default())
    });
    test(&Composed {
        piece,
        part,
        survey: &survey,
        questions: &Question::ALL,
        findings: &survey.findings,
        fallback_title: "untitled",
        study: study.as_ref(),
    });
}

/// Whether a label or a run of labels is of bars of the piece: `4`, `4–7`, `8, 9`, `and 3 more`.
fn known(piece: &Piece, said: &str) -> bool {
    let said = said.strip_suffix("\u{a0}…").unwrap_or(said);
    let label = |text: &str| {
        piece.bars.iter().any(|bar| bar.label.trim() == text) || text.ends_with(" from the start)")
    };
    let run = |between: &str| {
        said.match_indices(between)
            .any(|(at, _)| label(&said[..at]) && label(&said[at + between.len()..]))
    };
    let more = said
        .strip_prefix("and ")
        .and_then(|rest| rest.strip_suffix(" more"));
    label(said) || run("–") || run(", ") || more.is_some_and(|n| n.parse::<usize>().is_ok())
}

fn details(sheet: &PrepSheet) -> impl Iterator<Item = &Detail> {
    let answers = sheet.answers.iter().flat_map(|answer| &answer.details);
    let climb = sheet.climb.iter().flat_map(|climb| &climb.details);
    let fingers = sheet.fingers.iter().flat_map(|fingers| &fingers.details);
    let returns = sheet.returns.iter().flat_map(|returns| &returns.bars.items);
    answers.chain(climb).chain(fingers).chain(returns)
}

fn holds(what: &Composed) {
    let whole = prep_sheet(what, &Handed::default());
    for level in 0..LEVELS {
        let sheet = whole.at(level);
        let document = prep_typst(&sheet, &Excerpts::new(), Paper::Letter, BarWord::Measure);
        literal_only(&document.source, "prep").unwrap();
        let page = prep_html(&sheet, &Excerpts::new(), BarWord::Bar);
        assert!(page.ends_with("</html>\n"));
        let bars = details(&sheet).flat_map(|detail| &detail.bars);
        let bars = bars.chain(sheet.glossary.items.iter().flat_map(|gloss| &gloss.bars));
        for said in bars {
            assert!(known(what.piece, said), "no bar {said:?}");
        }
        for slot in &sheet.slots {
            assert!(slot.from <= slot.to && slot.to.get() < what.piece.bars.len());
        }
    }
    let cards = [card(what, StudyTime::Sixty), card(what, StudyTime::Thirty)];
    for card in &cards {
        let sum: u16 = card.steps.iter().map(|step| step.seconds).sum();
        assert_eq!(sum, card.seconds);
        for said in card.steps.iter().flat_map(|step| &step.bars) {
            assert!(known(what.piece, said), "no bar {said:?}");
        }
    }
    let document = card_typst(&cards, &Excerpts::new(), Paper::A4, BarWord::Bar);
    literal_only(&document.source, "cards").unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn any_page_has_a_sheet_and_a_card(bytes in prop::collection::vec(any::<u8>(), 20..900), studied in any::<bool>()) {
        let piece = testing::piece(&bytes, &Palette::default());
        for part in 0..piece.parts.len() {
            with_sheets(&piece, part, studied.then_some(Experience::Student), holds);
            if studied {
                with_sheets(&piece, part, Some(Experience::Professional), |what| is_planned(what, "Any Page"));
            }
        }
    }
}

/// The same page, planned and handed out, two days and a month before the date.
fn is_planned(what: &Composed, title: &str) {
    let ctx = Context::new(what.piece, what.part).expect("a part");
    let work = Work::of(&ctx, what.survey, what.study.expect("a study"), title, &[]);
    for (until, days) in [("2027-01-13", 7), ("2027-02-11", 1)] {
        let asked = Asked {
            today: "2027-01-11".parse().unwrap(),
            begun: "2027-01-11".parse().unwrap(),
            until: until.parse().unwrap(),
            occasion: Occasion::Audition,
            minutes: 35,
            off: DaysOff::default(),
            family: None,
            works: vec![work.clone()],
            log: Vec::new(),
        };
        let plan = match practice::plan::plan(&asked) {
            Ok(plan) => plan,
            Err(why) => {
                assert_eq!(why, Unplannable::Nothing);
                continue;
            }
        };
        let shown = PlanShown {
            asked: &asked,
            plan: &plan,
            findings: &plan.findings,
            handed: &Handed {
                player: title.to_owned(),
                date: String::new(),
            },
            from: asked.today,
            days,
        };
        let page = plan_page(&shown, &[what.piece]);
        assert!(!page.days.is_empty() && !page.cautions.is_empty());
        for slot in &page.slots {
            assert!(slot.slot.from <= slot.slot.to && slot.slot.to.get() < what.piece.bars.len());
        }
        let document = plan_typst(&page, &Excerpts::new(), Paper::Letter, BarWord::Measure);
        literal_only(&document.source, "plan").unwrap();
        let two = [
            (page.clone(), Excerpts::new(), BarWord::Measure),
            (page.clone(), Excerpts::new(), BarWord::Bar),
        ];
        let several = plans_typst(&two, Paper::A4, true);
        literal_only(&several.source, "plans").unwrap();
        assert_eq!(
            several.source.matches("cautions: (").count(),
            2,
            "each has its own cautions"
        );
        let html = plan_html(&page, &Excerpts::new(), BarWord::Bar);
        assert!(html.ends_with("</html>\n") && !html.contains("<script") && !html.contains('\u{0}'));
        assert_eq!(
            html.matches("<input type=").count(),
            html.matches("<label for=").count()
        );
        let terminal = sheet::Terminal {
            width: 80,
            styled: false,
            bar_word: BarWord::Bar,
        };
        let text = sheet::terminal(&plan_sheet(&shown), terminal);
        assert!(!text.contains('\u{1b}') && !text.contains('\u{0}'));
        let calendar = sheet::calendar(&shown, None);
        assert!(calendar.ends_with("END:VCALENDAR\r\n"));
        assert!(
            calendar
                .split("\r\n")
                .all(|line| line.len() <= 75 && !line.contains(char::is_control))
        );
    }
}

/// Words that a typesetter, a page or a terminal might take for orders.
#[test]
fn hostile_words_are_only_words() {
    let hostile = [
        "#import \"@preview/x:0.1.0\": *",
        "$ sum $ #panic()",
        "a\\",
        "\\\" ] } ) #",
        "\u{202e}\u{2066}שלום \u{200f}עולם",
        "مقطوعة للعود",
        "</script><script>alert(1)</script>",
        &"Wort".repeat(400),
        "\u{0}\u{7}\u{1b}[31m\n\r\t",
        "*bold* _it_ `raw` @ref <label> // comment /* open",
        "\u{1f3bb}\u{1f3bb}",
        "",
    ];
    for text in hostile {
        let mut piece =
            sketch("mm:q=72 key:-2 metre:3/4 F5/q Eb5/q D5/q | F5/e Gb5/e F5/q D5/q | Bb4/h. |").unwrap();
        piece.credits.title = Some(text.to_owned());
        piece.parts[0].name = text.to_owned();
        let label = text.chars().take(12).collect::<String>();
        piece.bars[1].label = label;
        with_sheets(&piece, 0, Some(Experience::Student), |what| {
            let handed = Handed {
                player: text.to_owned(),
                date: text.to_owned(),
            };
            let sheet = prep_sheet(what, &handed);
            let document = prep_typst(&sheet, &Excerpts::new(), Paper::A4, BarWord::Bar);
            literal_only(&document.source, "prep").unwrap();
            let page = prep_html(&sheet, &Excerpts::new(), BarWord::Bar);
            assert!(!page.contains("<script") && !page.contains('\u{0}'));
            is_planned(what, text);
            let cards = [card(what, StudyTime::Thirty)];
            let document = card_typst(&cards, &Excerpts::new(), Paper::A4, BarWord::Bar);
            literal_only(&document.source, "cards").unwrap();
        });
    }
}

/// The scan itself can fail.
#[test]
fn what_is_not_a_literal_is_seen() {
    for bad in [
        "\n#prep(\"a\" #b)",
        "\n#prep(\"a)",
        "\n#prep(()",
        "\n#prep(\"\\n\")",
        "\n#prep())",
    ] {
        assert!(literal_only(bad, "prep").is_err(), "{bad}");
    }
    assert_eq!(literal_only("\n#prep((a: \"#\\\"x\", ))", "prep"), Ok(()));
}
