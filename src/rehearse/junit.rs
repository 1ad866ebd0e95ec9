//! The rehearsal as JUnit XML, for build servers: one suite for each book, one case for each example and claim.

use super::view::Rehearsal;
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};
use std::collections::BTreeMap;

/// A case of a suite: its class, its name, and what failed.
struct Case<'r> {
    class: &'static str,
    name: &'r str,
    failures: Vec<String>,
}

/// Writes a rehearsal as JUnit XML; an error only if writing to memory fails.
pub fn junit(rehearsal: &Rehearsal) -> Result<String, String> {
    let mut suites: BTreeMap<&str, Vec<Case>> =
        rehearsal.books.iter().map(|book| (book.as_str(), Vec::new())).collect();
    for example in &rehearsal.examples {
        for (book, cases) in suites.iter_mut().filter(|(book, _)| example.under.iter().any(|u| u == *book)) {
            let own = example.failures.iter().filter(|f| f.under == **book);
            let failures: Vec<String> = own
                .map(|f| format!("{}: expected {}, came out {} ({})", f.asked, f.expected, f.got, f.place))
                .collect();
            cases.push(Case { class: "example", name: &example.title, failures });
        }
    }
    for claim in &rehearsal.claims {
        for answer in &claim.under {
            let expected = answer.expected.as_deref().filter(|_| !answer.as_expected);
            let failures: Vec<String> =
                expected.map(|e| format!("expected {e}, came out {}", answer.answer)).into_iter().collect();
            if let Some(cases) = suites.get_mut(answer.book.as_str()) {
                cases.push(Case { class: "claim", name: &claim.title, failures });
            }
        }
    }
    written(&suites).map_err(|error| error.to_string())
}

fn written(suites: &BTreeMap<&str, Vec<Case>>) -> Result<String, quick_xml::Error> {
    let mut writer = Writer::new_with_indent(Vec::new(), b' ', 2);
    writer.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    writer.write_event(Event::Start(BytesStart::new("testsuites")))?;
    for (book, cases) in suites {
        let failed = cases.iter().filter(|case| !case.failures.is_empty()).count();
        let mut suite = BytesStart::new("testsuite");
        suite.push_attribute(("name", *book));
        suite.push_attribute(("tests", cases.len().to_string().as_str()));
        suite.push_attribute(("failures", failed.to_string().as_str()));
        writer.write_event(Event::Start(suite))?;
        for case in cases {
            let mut start = BytesStart::new("testcase");
            start.push_attribute(("classname", format!("{book} {}", case.class).as_str()));
            start.push_attribute(("name", case.name));
            if case.failures.is_empty() {
                writer.write_event(Event::Empty(start))?;
                continue;
            }
            writer.write_event(Event::Start(start))?;
            let mut failure = BytesStart::new("failure");
            failure.push_attribute(("message", case.failures.first().map_or("", String::as_str)));
            writer.write_event(Event::Start(failure))?;
            writer.write_event(Event::Text(BytesText::new(&case.failures.join("\n"))))?;
            writer.write_event(Event::End(BytesEnd::new("failure")))?;
            writer.write_event(Event::End(BytesEnd::new("testcase")))?;
        }
        writer.write_event(Event::End(BytesEnd::new("testsuite")))?;
    }
    writer.write_event(Event::End(BytesEnd::new("testsuites")))?;
    let mut text = String::from_utf8_lossy(&writer.into_inner()).into_owned();
    text.push('\n');
    Ok(text)
}
