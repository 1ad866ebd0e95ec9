//! The nearest of several names, for "did you mean".

/// The name among `among` that a person most likely meant by `wanted`, or `None` if none is close.
///
/// Capitals and the marks between words (`-`, `_`, blank) do not count. A plural for a singular, a slip or two in a longer word, and a beginning cut short
/// are close. Among equals the alphabetically first is taken, so the answer does not depend on the order given.
pub fn nearest<'a>(wanted: &str, among: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let plain = folded(wanted);
    let length = plain.chars().count();
    if length == 0 || length > LONGEST {
        return None;
    }
    among.into_iter().filter_map(|name| Some((distance(&plain, length, name)?, name))).min().map(|(_, name)| name)
}

/// Longer texts are not names; comparing them costs the product of the lengths.
const LONGEST: usize = 80;

fn folded(name: &str) -> String {
    name.chars().filter(|c| !matches!(c, '-' | '_' | ' ')).flat_map(char::to_lowercase).collect()
}

fn distance(plain: &str, length: usize, name: &str) -> Option<usize> {
    let other = folded(name);
    let other_length = other.chars().count();
    if other_length == 0 || other_length > LONGEST {
        return None;
    }
    let slips = strsim::osa_distance(plain, &other);
    let shorter = length.min(other_length);
    let allowed = match shorter {
        0..=2 => usize::from(slips == 0),
        3..=5 => 1,
        6..=8 => 2,
        _ => shorter / 3,
    };
    if slips <= allowed {
        return Some(slips);
    }
    // A beginning typed, or the name with more said after it: farther than any slip.
    let begins = shorter >= 4 && (other.starts_with(plain) || plain.starts_with(other.as_str()));
    begins.then_some(LONGEST + slips)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    const NAMES: [&str; 8] =
        ["outlet", "branch-circuit", "height", "wet", "copper", "aluminum", "metal-clad-cable", "volts-to-ground"];

    #[test]
    fn slips_plurals_marks_and_beginnings() {
        for (typed, meant) in [
            ("outlets", "outlet"),
            ("hieght", "height"),
            ("coper", "copper"),
            ("aluminium", "aluminum"),
            ("Branch_Circuit", "branch-circuit"),
            ("branch", "branch-circuit"),
            ("volts to ground", "volts-to-ground"),
            ("metalclad-cabel", "metal-clad-cable"),
            ("WET", "wet"),
        ] {
            assert_eq!(nearest(typed, NAMES), Some(meant), "{typed}");
        }
    }

    #[test]
    fn far_or_tiny_names_get_no_answer() {
        for typed in ["", "-", "zebra", "in", "w", "luminaire", &"x".repeat(5000)] {
            assert_eq!(nearest(typed, NAMES), None, "{typed}");
        }
        assert_eq!(nearest("a", ["b", "c"]), None);
    }

    #[test]
    fn the_order_given_does_not_matter() {
        assert_eq!(nearest("pats", ["path", "part", "parts"]), Some("parts"));
        assert_eq!(nearest("pats", ["parts", "part", "path"]), Some("parts"));
    }
}
