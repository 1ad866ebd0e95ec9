//! Numbers that follow one another, said as a run: `210.8(A)(1) through (12)`. What they stand for is looked up elsewhere.

/// The least length of a run that is said as one.
const SHORTEST: usize = 3;

/// Numbers in the order given, with each run of neighbours under one head said by its first and last.
pub(super) fn runs(numbers: &[&str]) -> Vec<String> {
    let mut said = Vec::new();
    let mut rest = numbers;
    while let Some(first) = rest.first() {
        let long = 1 + rest.windows(2).take_while(|pair| follows(pair[0], pair[1])).count();
        let (run, behind) = rest.split_at(long);
        match run.last().and_then(|last| last_label(last)) {
            Some((_, label)) if long >= SHORTEST => said.push(format!("{first} through ({label})")),
            _ => said.extend(run.iter().map(|number| (*number).to_string())),
        }
        rest = behind;
    }
    said
}

/// `210.8(A)(12)` as `210.8(A)` and `12`.
fn last_label(number: &str) -> Option<(&str, &str)> {
    number.strip_suffix(')')?.rsplit_once('(')
}

fn follows(one: &str, next: &str) -> bool {
    let (Some((head, label)), Some((next_head, next_label))) = (last_label(one), last_label(next)) else {
        return false;
    };
    head == next_head
        && match (label.parse::<u32>(), next_label.parse::<u32>()) {
            (Ok(number), Ok(next)) => number.checked_add(1) == Some(next),
            _ => match (label.as_bytes(), next_label.as_bytes()) {
                ([letter @ (b'A'..=b'Y' | b'a'..=b'y')], [next]) => letter + 1 == *next,
                _ => false,
            },
        }
}

#[cfg(test)]
mod tests {
    use super::runs;

    #[test]
    fn neighbours_under_one_head_are_one() {
        let numbers = ["210.8(A)(9)", "210.8(A)(10)", "210.8(A)(11)", "210.8(A)(13)", "210.8(B)(14)", "250.122"];
        assert_eq!(runs(&numbers), ["210.8(A)(9) through (11)", "210.8(A)(13)", "210.8(B)(14)", "250.122"]);
        assert_eq!(runs(&["1(A)", "1(B)", "1(C)", "1(C)(1)"]), ["1(A) through (C)", "1(C)(1)"]);
        assert_eq!(runs(&["1(A)", "1(B)"]), ["1(A)", "1(B)"]);
        assert_eq!(runs(&["(4294967295)", "(0)", "()", "(é)", "(z)", "({)"]).len(), 6);
        assert!(runs(&[]).is_empty());
    }
}
