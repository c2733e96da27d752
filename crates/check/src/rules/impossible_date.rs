//! `impossible-date`.

use halfsplit_model::Place;

use crate::{Rule, rule::Found, statements::own, survey::Survey};

pub(super) const RULE: Rule = rule!("impossible-date", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    for line in own(survey) {
        let place = |span| Place { file: line.file, span };
        if line.fact.keyword() == "traced" {
            let Some(date) = line.fact.text("date").filter(|date| !is_date(date.value)) else { continue };
            found
                .add(place(date.span), format!("\"{}\" is no day of any year", date.value))
                .help("write it as year-month-day: \"2026-03-14\"");
        }
    }
}

/// Years in which somebody may have traced a circuit on a car. Own estimate.
const YEARS: std::ops::Range<u32> = 1900..2100;

/// Whether a text is a day as year-month-day.
fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let number = |text: &str, digits: usize| {
        (text.len() == digits && text.bytes().all(|b| b.is_ascii_digit()))
            .then(|| text.parse::<u32>().ok())
            .flatten()
    };
    let [year, month, day] = parts[..] else { return false };
    let (Some(year), Some(month), Some(day)) = (number(year, 4), number(month, 2), number(day, 2)) else {
        return false;
    };
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days = match month {
        4 | 6 | 9 | 11 => 30,
        2 => 28 + u32::from(leap),
        1..=12 => 31,
        _ => return false,
    };
    YEARS.contains(&year) && (1..=days).contains(&day)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_days_of_the_calendar() {
        for day in ["2026-03-14", "2024-02-29", "2000-02-29", "1999-12-31"] {
            assert!(is_date(day), "{day}");
        }
        for none in [
            "2026-13-01",
            "2026-02-29",
            "1900-02-29",
            "0206-03-14",
            "2026-04-31",
            "2026-00-10",
            "14.3.2026",
            "2026-3-14",
            "",
            "20260314",
        ] {
            assert!(!is_date(none), "{none}");
        }
    }
}
