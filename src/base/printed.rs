//! The order of printed section numbers: 250.118(5) before 250.118(10), and 250.122 behind both.

/// What printed numbers are ordered by: each part by its number, then its letters; what starts with a letter comes last.
pub(crate) fn printed_order(address: &str) -> (bool, Vec<(u64, String)>) {
    let parts = address
        .split(['.', '(', ')', '-'])
        .filter(|part| !part.is_empty())
        .map(|part| {
            let digits = part.bytes().take_while(u8::is_ascii_digit).count();
            let (number, rest) = part.split_at(digits);
            (number.parse().unwrap_or(u64::MAX), rest.to_string())
        })
        .collect();
    (!address.starts_with(|c: char| c.is_ascii_digit()), parts)
}
