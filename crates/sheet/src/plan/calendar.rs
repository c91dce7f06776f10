//! How do the sittings get into her calendar? One event a day, with the same name whenever it is written again.
//!
//! Source: RFC 5545 (iCalendar): UID 3.8.4.7, DTSTAMP 3.8.7.2, SEQUENCE 3.8.7.4, floating times 3.3.5. Nothing is read from the
//! clock: the stamp is the day for which the plan was made, and a plan made on a later day has a higher sequence number, so that it
//! replaces the earlier one.

use super::page::line;
use super::{PlanShown, said};
use chrono::{NaiveDate, NaiveTime, TimeDelta};
use icalendar::{Calendar, Component, Event, EventLike, Property};
use practice::plan::{Asked, Date, Days, Sitting, cautions};

/// When in the day the sittings are; whole days without a time.
pub type Clock = Option<NaiveTime>;

/// The calendar file of the days shown.
#[must_use]
pub fn calendar(shown: &PlanShown, clock: Clock) -> String {
    let last = shown
        .from
        .checked_add_days(Days::new(u64::from(shown.days.saturating_sub(1))))
        .unwrap_or(Date::MAX);
    let mut calendar = Calendar {
        properties: vec![
            Property::new("VERSION", "2.0"),
            Property::new("PRODID", "-//Foreread//Practice plan//EN"),
            Property::new("CALSCALE", "GREGORIAN"),
        ],
        components: Vec::new(),
    };
    let title = said::title(shown.asked);
    calendar.name(&format!("Practice: {title}"));
    let within = |date: Date| (shown.from..=last).contains(&date);
    let sittings = shown.plan.sittings.iter().filter(|sitting| within(sitting.date));
    for (number, sitting) in sittings.enumerate() {
        calendar.push(event(shown, sitting, clock, &title, number == 0));
    }
    if within(shown.asked.until) {
        let mut event = stamped(shown.asked, shown.asked.until, "date");
        event.summary(&format!("{}: {title}", said::upper(shown.asked.occasion.words())));
        // Without an end it lasts its day. Source: RFC 5545, section 3.6.1.
        event.starts(shown.asked.until);
        calendar.push(event.done());
    }
    folded(&calendar.done().to_string())
}

/// Most octets of a line, its end not counted. Source: RFC 5545, section 3.1.
const LINE_OCTETS: usize = 75;

/// The same lines, folded anew: the library's last continuation of a long line can be an octet too long.
fn folded(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 64);
    for line in text.replace("\r\n ", "").split_terminator("\r\n") {
        let mut octets = 0;
        // Signs without a shape have no place in a calendar.
        for c in line.chars().filter(|c| !c.is_control()) {
            if octets + c.len_utf8() > LINE_OCTETS {
                out.push_str("\r\n ");
                octets = 1;
            }
            out.push(c);
            octets += c.len_utf8();
        }
        out.push_str("\r\n");
    }
    out
}

fn event(shown: &PlanShown, sitting: &Sitting, clock: Clock, title: &str, first: bool) -> Event {
    let mut event = stamped(shown.asked, sitting.date, "sitting");
    let minutes = said::minutes(sitting.secs());
    event.summary(&format!("Practice: {title} ({minutes} min)"));
    event.description(&description(shown, sitting, first));
    match clock {
        Some(time) => {
            let start = sitting.date.and_time(time);
            event.starts(start);
            event.ends(start + TimeDelta::seconds(i64::from(sitting.secs())));
        }
        None => {
            event.starts(sitting.date);
            // A reminder of the day doesn't make her busy.
            event.add_property("TRANSP", "TRANSPARENT");
        }
    }
    event.done()
}

/// The turns, one to a line, and the cautions: in full in the first event.
fn description(shown: &PlanShown, sitting: &Sitting, first: bool) -> String {
    let mut text = format!("{}\n", said::upper(sitting.stage.words()));
    for turn in &sitting.turns {
        let line = line(shown, turn);
        text.push_str(&format!("{} min  {}", line.minutes, line.name));
        for more in [&line.bars, &line.tempo, &line.how, &line.why] {
            if !more.is_empty() {
                text.push_str(", ");
                text.push_str(more);
            }
        }
        text.push('\n');
    }
    let said = if first {
        cautions::full(shown.asked.family).join(" ")
    } else {
        cautions::LINE.to_owned()
    };
    text.push_str(&said);
    text
}

/// An event with its name and stamp.
fn stamped(asked: &Asked, date: Date, what: &str) -> Event {
    let mut event = Event::new();
    event.uid(&format!("{what}-{date}-{:016x}@foreread.invalid", name_of(asked)));
    event.timestamp(asked.today.and_time(NaiveTime::default()).and_utc());
    event.sequence(sequence(asked.today));
    event
}

/// Days since the beginning of the year 2000: a plan made later counts for more.
fn sequence(today: Date) -> u32 {
    let days = NaiveDate::from_ymd_opt(2000, 1, 1).map_or(0, |start| (today - start).num_days());
    u32::try_from(days).unwrap_or(0)
}

/// A number from the titles, the same on every machine. Source: FNV-1a, 64 bits (RFC 9923).
fn name_of(asked: &Asked) -> u64 {
    let titles = asked.works.iter().map(|work| work.title.as_str());
    let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
    for byte in titles.flat_map(|title| title.bytes().chain([0])) {
        hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
    }
    hash
}

#[cfg(test)]
mod tests {
    use super::folded;

    #[test]
    fn no_line_is_longer_than_seventy_five_octets() {
        let long = format!(
            "DESCRIPTION:{}\r\n {}\r\nEND:VEVENT\r\n",
            "♩".repeat(40),
            "x".repeat(149)
        );
        let text = folded(&long);
        assert!(text.split("\r\n").all(|line| line.len() <= 75));
        assert_eq!(
            text.replace("\r\n ", ""),
            long.replace("\r\n ", ""),
            "and nothing is lost"
        );
        assert!(text.ends_with("\r\nEND:VEVENT\r\n"));
    }
}
