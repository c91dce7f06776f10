//! How is something filled in and sent? Forms whose answer says where to go; fields with their labels, and what is too long.

use crate::error::AppError;
use maud::{Markup, Render, html};
use serde::{Deserialize, Serialize};

/// Where the browser goes after something was changed.
#[derive(Debug, Serialize)]
pub(crate) struct Go {
    go: String,
}

impl Go {
    /// To an address of ours.
    pub fn to(address: impl Into<String>) -> axum::Json<Self> {
        axum::Json(Self { go: address.into() })
    }
}

/// Nothing to fill in: only that it is wanted.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Nothing {}

/// The longest name, in letters.
pub(crate) const NAME: usize = 120;
/// The longest text.
pub(crate) const TEXT: usize = 4_000;

/// A text, trimmed; too long is said.
///
/// # Errors
/// If it is longer than anybody writes.
pub(crate) fn text(words: &str, most: usize, of: &str) -> Result<String, AppError> {
    let words = words.trim();
    if words.chars().count() > most {
        return Err(AppError::Asked(format!(
            "{of}: more than {most} letters are not kept — say it shorter"
        )));
    }
    Ok(words.to_owned())
}

/// A text that may not be empty.
///
/// # Errors
/// If it is empty or too long.
pub(crate) fn name(words: &str, of: &str) -> Result<String, AppError> {
    let words = text(words, NAME, of)?;
    if words.is_empty() {
        return Err(AppError::Asked(format!("{of} is missing — write it")));
    }
    Ok(words)
}

/// A day, or none.
///
/// # Errors
/// If it is no day.
pub(crate) fn day(words: &str, of: &str) -> Result<Option<String>, AppError> {
    let words = words.trim();
    if words.is_empty() {
        return Ok(None);
    }
    crate::days::read(words)
        .filter(|day| day.to_string() == words)
        .map(|day| Some(day.to_string()))
        .ok_or_else(|| {
            AppError::Asked(format!(
                "{of}: “{words}” is no day — write year, month and day: 2027-02-13"
            ))
        })
}

/// A number, or none; a comma is a point.
///
/// # Errors
/// If it is no number.
pub(crate) fn number(words: &str, of: &str) -> Result<Option<f64>, AppError> {
    let words = words.trim().replace(',', ".");
    if words.is_empty() {
        return Ok(None);
    }
    words
        .parse::<f64>()
        .ok()
        .filter(|number| number.is_finite())
        .map(Some)
        .ok_or_else(|| {
            AppError::Asked(format!(
                "{of}: “{words}” is no number — write digits, for example 16"
            ))
        })
}

/// A line to write on.
pub(crate) fn line(label: &str, field: &str, value: &str, hint: &str) -> Markup {
    html! {
        label class="field" { span { (label) } input type="text" name=(field) value=(value) placeholder=(hint) maxlength=(NAME) autocomplete="off"; }
    }
}

/// A line that proposes words of a list.
pub(crate) fn line_from(label: &str, field: &str, value: &str, list: &str) -> Markup {
    html! {
        label class="field" { span { (label) } input type="text" name=(field) value=(value) list=(list) maxlength=(NAME) autocomplete="off"; }
    }
}

/// A day to be chosen.
pub(crate) fn date(label: &str, field: &str, value: &str) -> Markup {
    html! { label class="field" { span { (label) } input type="date" name=(field) value=(value); } }
}

/// Lines to write on.
pub(crate) fn lines(label: &str, field: &str, value: &str, rows: u8) -> Markup {
    html! { label class="field wide-field" { span { (label) } textarea name=(field) rows=(rows) maxlength=(TEXT) { (value) } } }
}

/// Something to be ticked.
pub(crate) fn tick(label: impl Render, field: &str, on: bool) -> Markup {
    html! { label class="tick" { input type="checkbox" name=(field) checked[on]; " " (label) } }
}

/// A choice of several; the first of each pair is its value.
pub(crate) fn choice(label: &str, field: &str, among: &[(String, String)], chosen: &str) -> Markup {
    html! {
        label class="field" { span { (label) } select name=(field) {
            @for (value, words) in among { option value=(value) selected[value == chosen] { (words) } }
        } }
    }
}

/// Several of a list, each to be ticked.
pub(crate) fn several(label: &str, field: &str, among: &[(String, String)], chosen: &[String]) -> Markup {
    html! {
        fieldset class="several" {
            legend { (label) }
            @for (value, words) in among {
                label class="tick" { input type="checkbox" name=(field) value=(value) data-many checked[chosen.contains(value)]; " " (words) }
            }
        }
    }
}

/// A form; `body` are its fields, `button` what it does.
pub(crate) fn form(to: &str, button: &str, body: &Markup) -> Markup {
    html! {
        form class="filled" data-to=(to) {
            (body)
            p class="send" { button type="submit" class="keep" { (button) } span class="slip-said" role="alert" {} }
        }
    }
}

/// A form that is one button; `ask` is said before it is done.
pub(crate) fn press(to: &str, button: &str, ask: Option<&str>) -> Markup {
    html! { form class="press" data-to=(to) data-ask=[ask] { button type="submit" { (button) } span class="slip-said" role="alert" {} } }
}

/// A form that is one button and sends one value with it.
pub(crate) fn press_with(to: &str, button: &str, field: &str, value: bool) -> Markup {
    html! {
        form class="press" data-to=(to) {
            input type="hidden" name=(field) value=(value) data-yes;
            button type="submit" { (button) }
            span class="slip-said" role="alert" {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_filled_in_is_looked_at() {
        assert_eq!(text("  a ", 3, "x").unwrap(), "a");
        assert!(
            text("abcd", 3, "the note")
                .unwrap_err()
                .to_string()
                .contains("the note")
        );
        assert!(name("  ", "the name").is_err());
        assert_eq!(day("", "x").unwrap(), None);
        assert_eq!(day("2027-02-13", "x").unwrap().as_deref(), Some("2027-02-13"));
        for wrong in ["2027-02-30", "soon", "2027-02-13T00:00", "13.2.2027"] {
            assert!(day(wrong, "the date").is_err(), "{wrong}");
        }
        assert_eq!(number("16,5", "x").unwrap(), Some(16.5));
        assert!(number("NaN", "x").is_err() && number("inf", "x").is_err() && number("a", "x").is_err());
    }
}
