//! When is it? Days, days off and times of day as they are typed; the only place of the plan where the clock is read.

use crate::DeskError;
use chrono::NaiveTime;
use practice::plan::{Date, DaysOff, Weekday};

/// Today, by the clock of this machine.
#[must_use]
pub fn today() -> Date {
    chrono::Local::now().date_naive()
}

/// `2027-02-13`, given with an option.
///
/// # Errors
/// If it is no day.
pub fn day(option: &str, text: &str) -> Result<Date, DeskError> {
    date(option, text)
}

/// A day as it is typed: `2027-02-13`.
pub(super) fn date(option: &str, text: &str) -> Result<Date, DeskError> {
    let text = text.trim();
    let form = "write year, month and day, for example 2027-02-13";
    text.parse().map_err(|_| {
        let digits = text
            .split('-')
            .filter(|part| part.bytes().all(|b| b.is_ascii_digit()));
        let looks_like_one = text.split('-').count() == 3 && digits.count() == 3;
        let what = if looks_like_one {
            format!("{option}: there is no such day as {text}")
        } else {
            format!("{option}: “{text}” is no day")
        };
        wrong(what, form)
    })
}

/// Days off as they are typed: `sun`, `2026-12-24`, `2026-12-24..2026-12-26`, with commas between.
pub(super) fn days_off(texts: &[String]) -> Result<DaysOff, DeskError> {
    let mut off = DaysOff::default();
    for text in texts.iter().flat_map(|text| text.split(',')).map(str::trim) {
        if text.is_empty() {
            continue;
        }
        let plain = text.to_lowercase();
        let name = plain.strip_suffix("days").map(|stem| format!("{stem}day"));
        let weekday: Option<Weekday> = plain.parse().or_else(|_| name.unwrap_or_default().parse()).ok();
        if let Some(day) = weekday {
            if !off.weekdays.contains(&day) {
                off.weekdays.push(day);
            }
            continue;
        }
        let (from, to) = text.split_once("..").unwrap_or((text, text));
        if !from.contains('-') {
            return Err(wrong(
                format!("--off: “{text}” is no day"),
                "write days of the week (sun), days (2026-12-24) or stretches of days (2026-12-24..2026-12-26), with commas between",
            ));
        }
        let (from, to) = (date("--off", from)?, date("--off", to)?);
        if to < from {
            return Err(wrong(
                format!("--off: {from}..{to} goes backwards"),
                "write the earlier day first",
            ));
        }
        off.ranges.push((from, to));
    }
    Ok(off)
}

/// Days off as they are typed in one line.
///
/// # Errors
/// If one of them is no day.
pub fn free_days(text: &str) -> Result<DaysOff, DeskError> {
    days_off(&[text.to_owned()])
}

/// A time of day as it is typed: `17:30`; nothing typed is none.
///
/// # Errors
/// If it is none.
pub fn time_of_day(text: &str) -> Result<Option<NaiveTime>, DeskError> {
    if text.trim().is_empty() {
        Ok(None)
    } else {
        clock(text).map(Some)
    }
}

/// A time of day as it is typed: `17:30`.
pub(super) fn clock(text: &str) -> Result<NaiveTime, DeskError> {
    NaiveTime::parse_from_str(text.trim(), "%H:%M").map_err(|_| {
        wrong(
            format!("--at: “{}” is no time of day", text.trim()),
            "write hours and minutes, for example 17:30",
        )
    })
}

pub(super) fn wrong(what: String, advice: &str) -> DeskError {
    DeskError::Player {
        what,
        advice: advice.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_off_as_they_are_typed() {
        let off = days_off(&[
            "sun, 2026-12-24..2026-12-26".to_owned(),
            "Fridays,2027-01-01".to_owned(),
        ])
        .unwrap();
        assert_eq!(off.weekdays, [Weekday::Sun, Weekday::Fri]);
        let day = |text: &str| text.parse::<Date>().unwrap();
        assert_eq!(
            off.ranges,
            [
                (day("2026-12-24"), day("2026-12-26")),
                (day("2027-01-01"), day("2027-01-01"))
            ]
        );
        assert!(days_off(&[String::new()]).unwrap().weekdays.is_empty());
    }

    #[test]
    fn what_is_no_day_is_said() {
        let said = |text: &str| days_off(&[text.to_owned()]).unwrap_err().to_string();
        assert!(
            said("someday").contains("“someday” is no day"),
            "{}",
            said("someday")
        );
        assert!(said("2026-12-26..2026-12-24").contains("backwards"));
        assert!(said("2026-02-30").contains("no such day as 2026-02-30"));
        assert!(
            date("--until", "13.2.2027")
                .unwrap_err()
                .to_string()
                .contains("2027-02-13")
        );
        assert!(clock("5 pm").is_err() && clock("17:30").is_ok());
    }
}
