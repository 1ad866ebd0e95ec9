//! From findings to the view.

use super::view::{
    AskFirst, Counts, Governing, Inspection, Missing, NotDescribed, Overall, Qualifies, Reading, ReadingEffect,
    ReadingOption, Reason, Relied, VERSION, Verdict,
};
use crate::eval::{self, Answer, By, Choices, Finding, Judge, Lean, Role, Truth, Words};
use crate::facts::installation::{Installation, ObjectId, Standing};
use crate::ir::program::{DutyId, Force, Mark, Program};
use crate::ir::schema::FieldType;
use std::collections::BTreeMap;

/// Inspects an installation and views the result.
pub fn inspection(program: &Program, facts: &Installation, choices: &Choices) -> Inspection {
    let judge = Judge::new(program, facts, choices);
    let findings = judge.inspect();
    let mut counts = Counts::default();
    let mut outcome = Overall::Met;
    let mut verdicts = Vec::with_capacity(findings.len());
    let mut words = Words::new(program, facts);
    let mut not_described: BTreeMap<ObjectId, Vec<String>> = BTreeMap::new();
    let not_looked_at = eval::not_looked_at(program, facts);
    for finding in &findings {
        let open = is_open(finding);
        match finding.standing {
            Standing::Stated => {
                count(&mut counts, finding.outcome.verdict);
                if finding.outcome.verdict == eval::Verdict::NotMet {
                    outcome = Overall::NotMet;
                }
                verdicts.push(verdict(program, facts, &judge, finding, &mut words));
            }
            Standing::Possible if open => {
                let duty = &program.duties[finding.duty.index()];
                not_described.entry(finding.subject).or_default().push(duty.address.clone());
            }
            Standing::Possible => {}
        }
        let may_be_violated =
            open || (finding.standing == Standing::Possible && finding.outcome.verdict == eval::Verdict::NotMet);
        if may_be_violated && outcome == Overall::Met {
            outcome = Overall::Open;
        }
    }
    // Where nothing could be violated, what is met carries the whole; with nothing met an open requirement leaves it open.
    if outcome == Overall::Met && counts.met == 0 && counts.undecided + counts.for_the_authority > 0 {
        outcome = Overall::Open;
    }
    // Looking at nothing is no success.
    if verdicts.is_empty() && !not_looked_at.is_empty() && outcome == Overall::Met {
        outcome = Overall::Open;
    }
    Inspection {
        version: VERSION,
        governing: governing(program, choices),
        project: facts.title.clone(),
        outcome,
        counts,
        ask_first: ask_first(&verdicts),
        verdicts,
        qualifies: permissions(program, facts, choices, &judge, &mut words),
        not_described: not_described
            .into_iter()
            .map(|(object, mut sections)| {
                sections.dedup();
                described(program, facts, object, sections)
            })
            .collect(),
        not_looked_at: not_looked_at.into_iter().map(|thing| program.schema.thing(thing).name.clone()).collect(),
        only: Vec::new(),
        caution: super::CAUTION.to_string(),
    }
}

/// Views one requirement on one stated thing.
pub fn requirement(
    program: &Program,
    facts: &Installation,
    choices: &Choices,
    duty: crate::ir::program::DutyId,
    subject: ObjectId,
) -> Verdict {
    let judge = Judge::new(program, facts, choices);
    let outcome = judge.judge(duty, subject);
    let finding = Finding { duty, subject, standing: Standing::Stated, outcome };
    verdict(program, facts, &judge, &finding, &mut Words::new(program, facts))
}

/// Whether a violation is still possible.
fn is_open(finding: &Finding) -> bool {
    matches!(finding.outcome.verdict, eval::Verdict::Undecided | eval::Verdict::ForTheAuthority)
        && finding.outcome.lean != Lean::NoViolationPossible
}

fn count(counts: &mut Counts, verdict: eval::Verdict) {
    *match verdict {
        eval::Verdict::Met => &mut counts.met,
        eval::Verdict::NotMet => &mut counts.not_met,
        eval::Verdict::NotApplicable => &mut counts.not_applicable,
        eval::Verdict::Undecided => &mut counts.undecided,
        eval::Verdict::ForTheAuthority => &mut counts.for_the_authority,
    } += 1;
}

/// How many verdicts there are of each kind.
pub(super) fn counted(verdicts: &[Verdict]) -> Counts {
    let mut counts = Counts::default();
    for verdict in verdicts {
        *match verdict.verdict.as_str() {
            "met" => &mut counts.met,
            "not met" => &mut counts.not_met,
            "not applicable" => &mut counts.not_applicable,
            "for the authority" => &mut counts.for_the_authority,
            _ => &mut counts.undecided,
        } += 1;
    }
    counts
}

/// Missing facts by how many open requirements wait for them; equals stay in the order of the book.
pub(super) fn ask_first(verdicts: &[Verdict]) -> Vec<AskFirst> {
    let mut asked: Vec<AskFirst> = Vec::new();
    for missing in verdicts.iter().flat_map(|v| &v.missing) {
        match asked.iter_mut().find(|a| a.of == missing.of && a.field == missing.field) {
            Some(known) => known.keeps_open += 1,
            None => asked.push(AskFirst {
                of: missing.of.clone(),
                field: missing.field.clone(),
                question: missing.question.clone(),
                judgment: missing.judgment.clone(),
                keeps_open: 1,
            }),
        }
    }
    asked.sort_by_key(|a| std::cmp::Reverse(a.keeps_open));
    asked
}

/// A verdict in words.
pub(super) fn verdict_words(verdict: eval::Verdict) -> &'static str {
    match verdict {
        eval::Verdict::Met => "met",
        eval::Verdict::NotMet => "not met",
        eval::Verdict::NotApplicable => "not applicable",
        eval::Verdict::Undecided => "undecided",
        eval::Verdict::ForTheAuthority => "for the authority",
    }
}

pub(super) fn governing(program: &Program, choices: &Choices) -> Governing {
    let readings = program
        .readings
        .iter()
        .zip(0u32..)
        .map(|(reading, at)| Reading {
            name: reading.name.clone(),
            question: reading.question.clone(),
            disputed: reading.disputed.clone(),
            chosen: choices
                .get(crate::ir::program::ReadingId(at))
                .and_then(|option| reading.options.get(option))
                .map(|(name, _)| name.clone()),
            options: reading
                .options
                .iter()
                .map(|(name, about)| ReadingOption { name: name.clone(), about: about.clone() })
                .collect(),
        })
        .collect();
    Governing { edition: program.edition.clone(), title: program.title.clone(), readings, selection: None }
}

fn verdict<'p>(
    program: &'p Program,
    facts: &'p Installation,
    judge: &Judge<'p>,
    finding: &Finding,
    words: &mut Words<'p>,
) -> Verdict {
    let duty = &program.duties[finding.duty.index()];
    let told = judge.explain(finding);
    let schema = &program.schema;
    let origin = program.origin(duty.origin);
    Verdict {
        section: duty.address.clone(),
        title: duty.title.clone(),
        name: duty.name.clone(),
        subject: words.name(finding.subject).to_string(),
        thing: schema.thing(duty.subject).name.clone(),
        verdict: verdict_words(finding.outcome.verdict).to_string(),
        lean: match finding.outcome.lean {
            Lean::None => String::new(),
            Lean::NoViolationPossible => "no violation possible".to_string(),
            Lean::ViolatedIfItApplies => "violated if it applies".to_string(),
        },
        by: match finding.outcome.by {
            Some(By::Relief(at)) => {
                duty.reliefs.get(at).map_or_else(String::new, |relief| words.role(&Role::Relief(relief)))
            }
            Some(By::Together) => "several exceptions together".to_string(),
            Some(By::Main) | None => String::new(),
        },
        force: match duty.force {
            Force::Requires => "requires",
            Force::Prohibits => "prohibits",
            Force::IfProvided => "if provided, requires",
            Force::PermitsOnly => "permits only",
        }
        .to_string(),
        asks: origin.words.clone(),
        because: reasons(&told.because, words),
        missing: missing(&told.missing, program, facts, words),
        relied_on: told
            .relied_on
            .iter()
            .map(|relied| Relied {
                of: words.name(relied.object).to_string(),
                field: words.field(relied.object, relied.field).to_string(),
                value: words.value(relied.object, relied.field).to_string(),
            })
            .collect(),
        readings: told
            .readings
            .iter()
            .filter_map(|effect| {
                let reading = program.readings.get(effect.reading)?;
                let (option, about) = reading.options.get(effect.option)?;
                Some(ReadingEffect {
                    reading: reading.name.clone(),
                    option: option.clone(),
                    about: about.clone(),
                    verdict: verdict_words(effect.verdict).to_string(),
                    chosen: effect.chosen,
                })
            })
            .collect(),
        marks: marks(told.marks.iter().copied()),
        unchecked: told.marks.iter().rev().find_map(|mark| unchecked(mark)).unwrap_or_default().to_string(),
        cites: owned(&told.cites),
        beyond: if finding.outcome.verdict == eval::Verdict::NotMet {
            beyond(program, finding.duty)
        } else {
            Vec::new()
        },
        under: Vec::new(),
    }
}

fn owned(cites: &[&str]) -> Vec<String> {
    cites.iter().map(|cite| (*cite).to_string()).collect()
}

/// The permissions that a requirement of an amendment goes beyond, in words.
pub(crate) fn beyond(program: &Program, duty: DutyId) -> Vec<String> {
    let schema = &program.schema;
    program
        .contested
        .iter()
        .filter(|contested| contested.duty == duty)
        .filter_map(|contested| {
            let granted = program.permissions.iter().filter(|p| p.address == contested.address);
            let kinds = granted.filter_map(|p| program.kinds.get(p.kind.index()));
            let thing = kinds.into_iter().find(|kind| kind.name == contested.standing)?.thing;
            let what = match contested.values {
                Some((field, values)) => {
                    let field = schema.field(thing, field);
                    format!("permits {} {}", field.name, eval::value_words(schema, &field.ty, values))
                }
                None => format!("also permits a {}", schema.thing(thing).name),
            };
            Some(format!(
                "{} {what} as {}: that stands, and this requirement of {} decides",
                contested.address, contested.standing, contested.document
            ))
        })
        .collect()
}

/// The document that carried something without anyone looking.
fn unchecked(mark: &Mark) -> Option<&str> {
    match mark {
        Mark::Unchecked(document) => Some(document),
        Mark::Seen(_) | Mark::Memory | Mark::Disputed(_) => None,
    }
}

/// Marks in words: all sources seen in one, each once.
pub(super) fn marks<'m>(marks: impl Iterator<Item = &'m Mark> + Clone) -> Vec<String> {
    let mut keys: Vec<&str> = Vec::new();
    for mark in marks.clone() {
        if let Mark::Seen(source) = mark {
            keys.extend(source.split_whitespace());
        }
    }
    keys.sort_unstable();
    keys.dedup();
    let mut words = Vec::new();
    if !keys.is_empty() {
        let mut seen = String::with_capacity(64);
        seen.push_str("seen");
        for key in keys {
            seen.push(' ');
            seen.push_str(key);
        }
        words.push(seen);
    }
    for mark in marks {
        match mark {
            Mark::Seen(_) => {}
            Mark::Memory => words.push("memory".to_string()),
            Mark::Disputed(how) => words.push(format!("disputed: {how}")),
            Mark::Unchecked(document) => words.push(format!("carried into {document} unchecked")),
        }
    }
    words
}

fn missing(told: &[eval::Missing], program: &Program, facts: &Installation, words: &mut Words) -> Vec<Missing> {
    let mut all: Vec<Missing> = told
        .iter()
        .map(|missing| Missing {
            of: words.name(missing.object).to_string(),
            field: missing.name(&program.schema, facts).into_owned(),
            question: missing.question(&program.schema, facts).into_owned(),
            judgment: missing.judgment(&program.schema, facts).unwrap_or_default().to_string(),
        })
        .collect();
    // Who asks for a measurement asks through what it runs.
    let whole: Vec<(String, String)> =
        all.iter().filter(|m| m.field.contains(" from ")).map(|m| (m.of.clone(), m.field.clone())).collect();
    let implied = |m: &Missing| {
        m.field
            .split_once(" through ")
            .is_some_and(|(measured, _)| whole.iter().any(|(of, field)| *of == m.of && field == measured))
    };
    all.retain(|m| !implied(m));
    all
}

fn reasons(reasons: &[eval::Reason], words: &mut Words) -> Vec<Reason> {
    reasons.iter().map(|reason| self::reason(reason, words)).collect()
}

fn reason(reason: &eval::Reason, words: &mut Words) -> Reason {
    Reason {
        role: words.role(&reason.role),
        text: reason.words().to_string(),
        cite: reason.cite().to_string(),
        answer: match reason.answer {
            Answer::Yes => "yes",
            Answer::No => "no",
            Answer::Unknown => "unknown",
        },
        found: words.found(&reason.found),
        because: reasons(&reason.parts, words),
    }
}

/// Whether each thing has the standings that sections grant.
fn permissions(
    program: &Program,
    facts: &Installation,
    choices: &Choices,
    judge: &Judge,
    words: &mut Words,
) -> Vec<Qualifies> {
    let mut all = Vec::new();
    for permission in &program.permissions {
        let kind = &program.kinds[permission.kind.index()];
        for object in facts.stated.get(kind.thing.0 as usize).into_iter().flatten() {
            let answer = eval::qualifies(program, facts, choices, permission.kind, *object);
            let told = judge.explain_kind(permission.kind, *object);
            all.push(Qualifies {
                section: permission.address.clone(),
                standing: kind.name.clone(),
                subject: words.name(*object).to_string(),
                answer: match answer {
                    Truth::Yes => "qualifies",
                    Truth::No => "does not qualify",
                    Truth::Unknown(_) => "undecided",
                }
                .to_string(),
                because: reasons(&told.because, words),
                missing: if answer.is_known() { Vec::new() } else { missing(&told.missing, program, facts, words) },
                cites: owned(&told.cites),
            });
        }
    }
    all
}

fn described(program: &Program, facts: &Installation, object: ObjectId, sections: Vec<String>) -> NotDescribed {
    let schema = &program.schema;
    let possible = facts.object(object);
    let thing = &schema.thing(possible.thing).name;
    let what = facts.full_name(schema, object);
    let say = match possible.owner {
        Some(owner) => {
            let owner = facts.object(owner);
            let field = schema
                .thing(owner.thing)
                .fields
                .iter()
                .find(|f| f.ty == FieldType::Many(possible.thing))
                .map_or("", |f| f.name.as_str());
            format!("{field}: none")
        }
        None => format!("{thing}: none"),
    };
    NotDescribed { what, say, sections }
}
