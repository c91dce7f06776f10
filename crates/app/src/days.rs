//! How are days said? A day in words, and how far off it is.

use practice::plan::Date;

/// A day as the store keeps it: `2027-01-05`.
pub(crate) fn read(text: &str) -> Option<Date> {
    text.get(..10)?.parse().ok()
}

/// `Sat 13 Feb 2027`.
pub(crate) fn said(day: Date) -> String {
    day.format("%a %-d %b %Y").to_string()
}

/// `Sat 13 Feb`.
pub(crate) fn short(day: Date) -> String {
    day.format("%a %-d %b").to_string()
}

/// A day that was kept, in words; what is none is said as it stands.
pub(crate) fn kept(text: &str) -> String {
    read(text).map_or_else(|| text.to_owned(), said)
}

/// A moment that was kept, by the clock of this machine: `Thu 26 Nov 2026, 17:39`.
pub(crate) fn moment(text: &str) -> String {
    chrono::DateTime::parse_from_rfc3339(text).map_or_else(
        |_| kept(text),
        |moment| {
            let here = moment.with_timezone(&chrono::Local);
            here.format("%a %-d %b %Y, %H:%M").to_string()
        },
    )
}

/// How far off a day is: `today`, `in 12 days`, `3 days ago`.
pub(crate) fn far(day: Date, today: Date) -> String {
    match (day - today).num_days() {
        0 => "today".to_owned(),
        1 => "tomorrow".to_owned(),
        -1 => "yesterday".to_owned(),
        days if days >= 56 => format!("in {} weeks", days / 7),
        days if days > 0 => format!("in {days} days"),
        days if days <= -56 => format!("{} weeks ago", -days / 7),
        days => format!("{} days ago", -days),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_is_said_by_how_far_off_it_is() {
        let day = |text: &str| read(text).unwrap();
        let today = day("2026-11-26");
        for (then, words) in [
            ("2026-11-26", "today"),
            ("2026-11-27", "tomorrow"),
            ("2026-11-25", "yesterday"),
            ("2026-12-15", "in 19 days"),
            ("2027-02-20", "in 12 weeks"),
            ("2026-11-20", "6 days ago"),
        ] {
            assert_eq!(far(day(then), today), words);
        }
        assert_eq!(kept("2026-11-26T11:00:00.000Z"), "Thu 26 Nov 2026");
        assert_eq!(kept("soon ♪"), "soon ♪");
        assert_eq!(moment("soon ♪"), "soon ♪");
        let said = moment("2026-11-26T11:07:00.000Z");
        assert!(
            said.starts_with(|c: char| c.is_alphabetic())
                && said.contains(" Nov 2026, ")
                && said.len() == "Thu 26 Nov 2026, 11:07".len(),
            "{said}"
        );
    }
}
