//! Calendar dates: proleptic Gregorian, years 1 to 9999. No clock, no time of day, no time zone.
use std::fmt;

/// A day of the calendar. Dates order as they follow one another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Date {
    year: u16,
    month: u8,
    day: u8,
}

/// Why a text or three numbers are no date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DateError {
    /// Not of the form `2021-09-15`.
    Shape,
    /// A year outside 1 to 9999.
    Year,
    /// A month outside 1 to 12.
    Month {
        /// The month as given.
        month: u32,
    },
    /// A day that the month does not have.
    Day {
        /// The year as given.
        year: u16,
        /// The month as given.
        month: u8,
        /// The day as given.
        day: u32,
        /// The last day that month has in that year.
        last: u8,
    },
}

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// Days from 0001-01-01 to 1970-01-01.
const EPOCH: i64 = 719_162;
const DAYS_IN_400_YEARS: i64 = 146_097;

impl Date {
    /// The date of a year (1 to 9999), month (1 to 12) and day of the month.
    pub fn new(year: u32, month: u32, day: u32) -> Result<Date, DateError> {
        let year = u16::try_from(year).ok().filter(|year| (1..=9999).contains(year)).ok_or(DateError::Year)?;
        let in_year = u8::try_from(month).ok().filter(|month| (1..=12).contains(month));
        let month = in_year.ok_or(DateError::Month { month })?;
        let last = last_day(year, month);
        let in_month = u8::try_from(day).ok().filter(|day| (1..=last).contains(day));
        let day = in_month.ok_or(DateError::Day { year, month, day, last })?;
        Ok(Date { year, month, day })
    }

    /// Reads `2021-09-15`: four, two and two digits (ISO 8601, extended calendar format).
    pub fn parse_iso(text: &str) -> Result<Date, DateError> {
        let bytes = text.as_bytes();
        let shaped = bytes.len() == 10
            && bytes.iter().enumerate().all(|(at, byte)| match at {
                4 | 7 => *byte == b'-',
                _ => byte.is_ascii_digit(),
            });
        if !shaped {
            return Err(DateError::Shape);
        }
        let number = |part: &[u8]| part.iter().fold(0u32, |sum, digit| sum * 10 + u32::from(digit - b'0'));
        Date::new(number(&bytes[0..4]), number(&bytes[5..7]), number(&bytes[8..10]))
    }

    /// The year, 1 to 9999.
    pub fn year(self) -> u16 {
        self.year
    }

    /// The month, 1 to 12.
    pub fn month(self) -> u8 {
        self.month
    }

    /// The day of the month, from 1.
    pub fn day(self) -> u8 {
        self.day
    }

    /// Days since 1970-01-01, negative before it.
    pub fn days_since_epoch(self) -> i64 {
        let past = i64::from(self.year) - 1;
        let leap_days = past / 4 - past / 100 + past / 400;
        let in_year: i64 = (1..self.month).map(|month| i64::from(last_day(self.year, month))).sum();
        past * 365 + leap_days + in_year + i64::from(self.day) - 1 - EPOCH
    }

    /// The date so many days after 1970-01-01; nothing outside the years 1 to 9999.
    pub fn from_days_since_epoch(days: i64) -> Option<Date> {
        let since_start = days.checked_add(EPOCH).filter(|days| *days >= 0)?;
        // Division by the mean length of a year can miss the year by one, either way, near its ends.
        let guess = since_start.checked_mul(400)? / DAYS_IN_400_YEARS + 1;
        let starts = |year: i64| Date::new(u32::try_from(year).ok()?, 1, 1).ok().map(Date::days_since_epoch);
        let year =
            [guess + 1, guess, guess - 1].into_iter().find(|year| starts(*year).is_some_and(|start| start <= days))?;
        let mut left = days - starts(year)?;
        let year = u16::try_from(year).ok()?;
        for month in 1..=12 {
            let length = i64::from(last_day(year, month));
            if left < length {
                return Some(Date { year, month, day: u8::try_from(left + 1).ok()? });
            }
            left -= length;
        }
        None
    }

    /// The day after; nothing after 9999-12-31.
    pub fn next(self) -> Option<Date> {
        Date::from_days_since_epoch(self.days_since_epoch() + 1)
    }

    /// The day before; nothing before 0001-01-01.
    pub fn previous(self) -> Option<Date> {
        Date::from_days_since_epoch(self.days_since_epoch() - 1)
    }
}

/// The length of a month, 1 to 12.
fn last_day(year: u16, month: u8) -> u8 {
    match month {
        4 | 6 | 9 | 11 => 30,
        2 if is_leap(year) => 29,
        2 => 28,
        _ => 31,
    }
}

fn is_leap(year: u16) -> bool {
    year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400))
}

impl fmt::Display for Date {
    /// As `2021-09-15`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{:04}-{:02}-{:02}", self.year, self.month, self.day))
    }
}

impl serde::Serialize for Date {
    /// As `2021-09-15`.
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl fmt::Display for DateError {
    /// One clause, without a full stop.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            DateError::Shape => write!(f, "a date is written as year-month-day with all digits, such as 2021-09-15"),
            DateError::Year => write!(f, "the year must be 0001 to 9999"),
            DateError::Month { month } => write!(f, "there is no month {month}; months are 01 to 12"),
            DateError::Day { year, month, day, last } => {
                let name = MONTHS.get(usize::from(*month).saturating_sub(1)).unwrap_or(&"");
                write!(f, "there is no {day} {name} {year}; {name} {year} has {last} days")
            }
        }
    }
}

impl std::error::Error for DateError {}

#[cfg(test)]
#[allow(clippy::panic)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn date(text: &str) -> Date {
        Date::parse_iso(text).unwrap_or_else(|error| panic!("{text}: {error}"))
    }

    fn error(text: &str) -> String {
        Date::parse_iso(text).map_or_else(|error| error.to_string(), |date| format!("read as {date}"))
    }

    #[test]
    fn reads_and_shows() {
        assert_eq!(date("2021-09-15").to_string(), "2021-09-15");
        assert_eq!(date("0001-01-01").to_string(), "0001-01-01");
        assert!(date("2023-12-31") < date("2024-01-01"));
        assert_eq!(date("2000-02-29").day(), 29);
    }

    #[test]
    fn says_what_is_wrong() {
        assert_eq!(error("2021-13-01"), "there is no month 13; months are 01 to 12");
        assert_eq!(error("2021-02-30"), "there is no 30 February 2021; February 2021 has 28 days");
        assert_eq!(error("1900-02-29"), "there is no 29 February 1900; February 1900 has 28 days");
        assert_eq!(error("2021-04-00"), "there is no 0 April 2021; April 2021 has 30 days");
        assert_eq!(error("0000-01-01"), "the year must be 0001 to 9999");
        for text in ["", "2021-9-15", "15.09.2021", "2021/09/15", "2021-09-15 ", "2021-09-1五", "-021-09-15"] {
            assert!(error(text).starts_with("a date is written"), "{text}");
        }
    }

    #[test]
    fn counts_days_from_the_epoch() {
        // POSIX.1, seconds since the Epoch: day nought is 1970-01-01, and 2000-03-01 is day 11017.
        assert_eq!(date("1970-01-01").days_since_epoch(), 0);
        assert_eq!(date("1969-12-31").days_since_epoch(), -1);
        assert_eq!(date("2000-03-01").days_since_epoch(), 11_017);
        assert_eq!(date("9999-12-31").next(), None);
        assert_eq!(date("0001-01-01").previous(), None);
        assert_eq!(date("2024-02-28").next(), Some(date("2024-02-29")));
        assert_eq!(Date::from_days_since_epoch(i64::MAX), None);
        assert_eq!(Date::from_days_since_epoch(i64::MIN), None);
    }

    #[test]
    fn every_day_follows_the_one_before() {
        let (first, last) = (date("0001-01-01").days_since_epoch(), date("9999-12-31").days_since_epoch());
        assert_eq!(last - first + 1, 25 * DAYS_IN_400_YEARS - 366);
        for days in (first..=last).step_by(13).chain([first, last]) {
            assert_eq!(Date::from_days_since_epoch(days).map(Date::days_since_epoch), Some(days));
        }
    }

    proptest! {
        #[test]
        fn never_panics(text in "\\PC*") {
            let _ = Date::parse_iso(&text);
        }

        #[test]
        fn reads_what_it_shows(days in -719_162i64..2_932_897) {
            let date = Date::from_days_since_epoch(days);
            prop_assert_eq!(date.and_then(|date| Date::parse_iso(&date.to_string()).ok()), date);
        }
    }
}
