//! How is a legend file read? By hand, so that every mistake is told with its line and what to write instead.

use super::{Legend, LegendError, Most, Rule};
use crate::Matter;
use notation::{ColouredPencil, Pencil, PencilColour, PencilSign, Pencils};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// More than a legend ever holds, in bytes.
const MOST_BYTES: usize = 100_000;
/// The most marks a page that can be asked for by number.
const MOST_MARKS: u32 = 200;
/// The longest words of a legend's line, in letters.
const LONGEST_WORDS: usize = 200;

type Value<'i> = Spanned<DeValue<'i>>;

/// The file, for the lines of mistakes.
struct File<'i> {
    text: &'i str,
}

impl File<'_> {
    fn wrong(&self, at: &Range<usize>, what: impl Into<String>, advice: impl Into<String>) -> LegendError {
        let before = self.text.bytes().take(at.start.min(self.text.len()));
        LegendError {
            line: 1 + before.filter(|byte| *byte == b'\n').count(),
            what: what.into(),
            advice: advice.into(),
        }
    }

    fn words(&self, of: &str, value: &Value) -> Result<String, LegendError> {
        let Some(text) = value.get_ref().as_str() else {
            let advice = format!("write {of} = \"…\", in quotation marks");
            return Err(self.wrong(&value.span(), format!("{of} is words"), advice));
        };
        let clean: String = text.chars().filter(|c| !c.is_control()).collect();
        if clean.chars().count() > LONGEST_WORDS {
            let what = format!("{of} is longer than {LONGEST_WORDS} letters");
            return Err(self.wrong(&value.span(), what, "say it in fewer words"));
        }
        Ok(clean.trim().to_owned())
    }

    fn table<'v, 'i>(&self, of: &str, value: &'v Value<'i>) -> Result<&'v DeTable<'i>, LegendError> {
        let advice = format!("write [{of}] on a line of its own and what belongs to it below");
        value
            .get_ref()
            .as_table()
            .ok_or_else(|| self.wrong(&value.span(), format!("{of} is a list of lines"), advice))
    }

    fn unknown(&self, at: &Range<usize>, word: &str, of: &str, known: &[&str]) -> LegendError {
        let advice = format!("there are {}", known.join(", "));
        self.wrong(at, format!("{of} has nothing called “{word}”"), advice)
    }
}

pub(super) fn legend(text: &str) -> Result<Legend, LegendError> {
    let file = File { text };
    if text.len() > MOST_BYTES {
        return Err(file.wrong(
            &(0..0),
            "this is no legend",
            "name a small text file such as legend.toml",
        ));
    }
    let read = DeTable::parse(text).map_err(|error| {
        let what = error.message().replace('`', "").replace('\n', " ");
        let advice = "look at the quotation marks and brackets of this line";
        file.wrong(&error.span().unwrap_or(0..0), what, advice)
    })?;
    let mut legend = Legend::default();
    let top = read.get_ref();
    // Pencils first, whatever the order of lines: marks name them.
    for (key, value) in top {
        if key.get_ref() == "pencils" {
            legend.pencils = pencils(&file, value)?;
        }
    }
    for (key, value) in top {
        match key.get_ref().as_ref() {
            "pencils" => {}
            "teacher" => legend.teacher = file.words("teacher", value)?,
            "title" => legend.title = file.words("title", value)?,
            "most_per_page" => legend.most = most(&file, value)?,
            "marks" => marks(&file, value, &mut legend)?,
            other => {
                let known = ["teacher", "title", "most_per_page", "pencils", "marks"];
                return Err(file.unknown(&key.span(), other, "a legend", &known));
            }
        }
    }
    never_the_same(&file, top, &legend)?;
    Ok(legend)
}

fn most(file: &File, value: &Value) -> Result<Most, LegendError> {
    let wrong = || {
        let advice = format!("write a number from 0 (none) to {MOST_MARKS}, or \"all\"");
        file.wrong(&value.span(), "that is no number of marks", advice)
    };
    match value.get_ref() {
        DeValue::String(word) if word.trim() == "all" => Ok(Most::All),
        DeValue::Integer(number) => {
            let number = u32::from_str_radix(number.as_str(), number.radix()).map_err(|_| wrong())?;
            if number <= MOST_MARKS {
                Ok(Most::At(number))
            } else {
                Err(wrong())
            }
        }
        _ => Err(wrong()),
    }
}

fn pencils(file: &File, value: &Value) -> Result<Pencils, LegendError> {
    let mut pencils = Pencils::default();
    for (key, value) in file.table("pencils", value)? {
        let slot = match key.get_ref().as_ref() {
            "first" => &mut pencils.first,
            "second" => &mut pencils.second,
            other => {
                return Err(file.unknown(&key.span(), other, "the pencil case", &["first", "second"]));
            }
        };
        *slot = Some(pencil(file, value)?);
    }
    if let (Some(first), Some(second)) = (&pencils.first, &pencils.second)
        && (first.name == second.name || first.colour == second.colour)
    {
        let advice = "give each a name and a colour of its own";
        return Err(file.wrong(
            &value.span(),
            "the two coloured pencils can't be told apart",
            advice,
        ));
    }
    Ok(pencils)
}

fn pencil(file: &File, value: &Value) -> Result<ColouredPencil, LegendError> {
    let (mut name, mut colour, mut meaning) = (None, None, String::new());
    for (key, value) in file.table("pencils.first", value)? {
        match key.get_ref().as_ref() {
            "name" => name = Some(file.words("name", value)?),
            "meaning" => meaning = file.words("meaning", value)?,
            "colour" | "color" => {
                let word = file.words("colour", value)?;
                let found = PencilColour::ALL.into_iter().find(|colour| colour.name() == word);
                let known: Vec<&str> = PencilColour::ALL.iter().map(|colour| colour.name()).collect();
                let missing = || file.unknown(&value.span(), &word, "the pencil case", &known);
                colour = Some(found.ok_or_else(missing)?);
            }
            other => {
                return Err(file.unknown(&key.span(), other, "a pencil", &["name", "colour", "meaning"]));
            }
        }
    }
    let Some(colour) = colour else {
        return Err(file.wrong(
            &value.span(),
            "this pencil has no colour",
            "add colour = \"red\", or another",
        ));
    };
    let name = name
        .filter(|name| !name.is_empty())
        .unwrap_or_else(|| colour.name().to_owned());
    if name == "graphite" {
        return Err(file.wrong(
            &value.span(),
            "a coloured pencil can't be called graphite",
            "name it by its colour",
        ));
    }
    Ok(ColouredPencil {
        name,
        colour,
        meaning,
    })
}

fn marks(file: &File, value: &Value, legend: &mut Legend) -> Result<(), LegendError> {
    for (key, value) in file.table("marks", value)? {
        let Some(matter) = Matter::from_name(key.get_ref()) else {
            let known: Vec<&str> = Matter::ALL.iter().map(|matter| matter.name()).collect();
            return Err(file.unknown(&key.span(), key.get_ref(), "marks", &known));
        };
        let mut rule = legend.rule(matter).clone();
        if let DeValue::Boolean(wanted) = value.get_ref() {
            rule.wanted = *wanted;
        } else {
            one(file, matter, value, &legend.pencils, &mut rule)?;
        }
        legend.rules.insert(matter, rule);
    }
    Ok(())
}

fn one(
    file: &File,
    matter: Matter,
    value: &Value,
    pencils: &Pencils,
    rule: &mut Rule,
) -> Result<(), LegendError> {
    for (key, value) in file.table(&format!("marks.{}", matter.name()), value)? {
        match key.get_ref().as_ref() {
            "wanted" => {
                let Some(wanted) = value.get_ref().as_bool() else {
                    return Err(file.wrong(
                        &value.span(),
                        "wanted is true or false",
                        "write it without quotation marks",
                    ));
                };
                rule.wanted = wanted;
            }
            "sign" => rule.sign = sign(file, matter, value)?,
            "pencil" => rule.pencil = which(file, pencils, value)?,
            "words" => rule.words = file.words("words", value)?,
            other => {
                let known = ["wanted", "sign", "pencil", "words"];
                return Err(file.unknown(&key.span(), other, matter.name(), &known));
            }
        }
    }
    Ok(())
}

fn sign(file: &File, matter: Matter, value: &Value) -> Result<PencilSign, LegendError> {
    let word = file.words("sign", value)?.to_lowercase().replace(['-', '_'], " ");
    let found = matter.signs().iter().find(|sign| sign.name() == word);
    found.copied().ok_or_else(|| {
        let known: Vec<&str> = matter.signs().iter().map(|sign| sign.name()).collect();
        let what = format!("{} can't be marked by “{word}”", matter.name());
        file.wrong(&value.span(), what, format!("take one of {}", known.join(", ")))
    })
}

fn which(file: &File, pencils: &Pencils, value: &Value) -> Result<Pencil, LegendError> {
    let word = file.words("pencil", value)?;
    let named = |pencil: Pencil| pencils.of(pencil).is_some_and(|coloured| coloured.name == word);
    match word.as_str() {
        "graphite" => Ok(Pencil::Graphite),
        "first" if pencils.first.is_some() => Ok(Pencil::First),
        "second" if pencils.second.is_some() => Ok(Pencil::Second),
        _ if named(Pencil::First) => Ok(Pencil::First),
        _ if named(Pencil::Second) => Ok(Pencil::Second),
        _ => {
            let coloured = [&pencils.first, &pencils.second].into_iter().flatten();
            let mut known = vec!["graphite"];
            known.extend(coloured.map(|pencil| pencil.name.as_str()));
            Err(file.unknown(&value.span(), &word, "the pencil case", &known))
        }
    }
}

/// A reader must tell at a glance what is to be played twice from what is to be worked out.
fn never_the_same(file: &File, top: &DeTable, legend: &Legend) -> Result<(), LegendError> {
    let (repeats, hard) = (legend.rule(Matter::Repeats), legend.rule(Matter::HardSpots));
    if repeats.sign != hard.sign || !repeats.wanted || !hard.wanted {
        return Ok(());
    }
    let of = |name: &str| {
        let marks = top.get("marks")?.get_ref().as_table()?;
        Some(marks.get(name)?.get_ref().as_table()?.get("sign")?.span())
    };
    let at = of("repeats").or_else(|| of("hard-spots")).unwrap_or(0..0);
    Err(file.wrong(
        &at,
        format!("repeats and hard spots have the same sign, {}", hard.sign.name()),
        "give one of them another: a repeat must never look like a hard spot",
    ))
}
