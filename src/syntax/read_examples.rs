//! Examples, fixtures and claims: pairs to tree.

use super::Reader;
use super::ast::*;
use super::letters::Rule;
use super::read_clause::P;
use super::recover::Context;
use crate::base::source::Span;
use crate::diag::{Code, Diagnostic};

impl Reader {
    pub(super) fn beside(&mut self, pair: P) -> Option<Beside> {
        match pair.as_rule() {
            Rule::fixture => self.fixture(pair).map(Beside::Fixture),
            Rule::example => self.example(pair).map(Beside::Example),
            Rule::claim => self.claim(pair).map(Beside::Claim),
            _ => self.survives(pair).map(Beside::Survives),
        }
    }

    /// The inside of a quoted text with its place.
    fn quoted(&self, pair: P) -> Option<Name> {
        let span = self.span(&pair);
        Some(Name { text: self.text(pair)?, span })
    }

    fn fixture(&mut self, pair: P) -> Option<Fixture> {
        let mut inner = pair.into_inner();
        let name = self.name(&inner.next()?);
        let mut fixture = Fixture { name, about: None, givens: Vec::new() };
        for part in inner {
            match part.as_rule() {
                Rule::text => fixture.about = self.text(part),
                Rule::bad_chunk => self.bad(part, Context::Fixture),
                _ => self.given(part, &mut fixture.givens),
            }
        }
        Some(fixture)
    }

    fn example(&mut self, pair: P) -> Option<Example> {
        let mut inner = pair.into_inner();
        let title = self.quoted(inner.next()?)?;
        let mut example = Example { title, under: None, givens: Vec::new(), expects: Vec::new(), marks: Vec::new() };
        for part in inner {
            match part.as_rule() {
                Rule::under => example.under = self.under(part),
                Rule::mark_line => example.marks.extend(part.into_inner().filter_map(|p| self.mark(p))),
                Rule::expect => example.expects.extend(self.expect(part)),
                Rule::bad_chunk => self.bad(part, Context::Example),
                _ => self.given(part, &mut example.givens),
            }
        }
        Some(example)
    }

    fn under(&mut self, pair: P) -> Option<Under> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let family = self.name(&inner.next()?);
        let (mut years, mut with) = (Vec::new(), Vec::new());
        for part in inner {
            match part.as_rule() {
                Rule::edition_span => years.extend(self.years(part)),
                _ => with = part.into_inner().map(|p| self.name(&p)).collect(),
            }
        }
        Some(Under { family, years, with, span })
    }

    fn years(&mut self, pair: P) -> Option<YearSpan> {
        let mut inner = pair.into_inner();
        let from = self.name(&inner.next()?);
        Some(YearSpan { from, through: inner.next().map(|p| self.name(&p)) })
    }

    /// What a line gives; a line of `but` may give several things.
    fn given(&mut self, pair: P, givens: &mut Vec<Given>) {
        match pair.as_rule() {
            Rule::given => {
                for inner in pair.into_inner() {
                    self.given(inner, givens);
                }
            }
            Rule::as_in => givens.extend(pair.into_inner().next().and_then(|t| self.quoted(t)).map(Given::AsIn)),
            Rule::name => givens.push(Given::Fixture(self.name(&pair))),
            Rule::but => {
                for setting in pair.into_inner() {
                    let span = self.span(&setting);
                    let mut inner = setting.into_inner();
                    let place = inner.next().and_then(|p| self.whereabouts(p));
                    let value = inner.next().and_then(|p| self.fact_value(p));
                    if let (Some(place), Some(value)) = (place, value) {
                        givens.push(Given::But(place, value, span));
                    }
                }
            }
            Rule::without => {
                for place in pair.into_inner() {
                    givens.extend(self.whereabouts(place).map(Given::Without));
                }
            }
            _ => givens.extend(self.fact_item(pair).map(Given::Facts)),
        }
    }

    fn whereabouts(&mut self, pair: P) -> Option<Whereabouts> {
        let mut inner = pair.into_inner();
        let name = self.name(&inner.next()?);
        Some(Whereabouts { name, of: self.owners(inner) })
    }

    fn owners<'t>(&self, pairs: impl Iterator<Item = P<'t>>) -> Vec<Name> {
        pairs.filter_map(|p| p.into_inner().next()).map(|p| self.name(&p)).collect()
    }

    // -------------------------------------------------------------------------------------------- expectations

    fn expect(&mut self, pair: P) -> Option<Expect> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let form = inner.next()?;
        let marks = inner.next().map(|m| self.marks(m)).unwrap_or_default();
        let rule = form.as_rule();
        let mut parts = form.into_inner().peekable();
        let mut target = None;
        if let Some(first) = parts.next_if(|p| p.as_rule() == Rule::target) {
            target = Some(self.target(first)?);
        }
        let kind = match rule {
            Rule::expect_table => ExpectKind::Table(Box::new(self.published(&mut parts, span)?)),
            Rule::expect_plain => ExpectKind::Plain(parts.filter_map(|p| self.arm(p)).collect()),
            Rule::expect_varied => {
                let place = self.whereabouts(parts.next()?)?;
                let mut arms = Vec::new();
                for arm in parts {
                    let mut inner = arm.into_inner();
                    let value = inner.next()?;
                    let span = self.span(&value);
                    let value = self.fact_value(value)?;
                    arms.push((value, span, self.answer(inner.next()?)?));
                }
                ExpectKind::Varied(place, arms)
            }
            _ => self.grid(parts)?,
        };
        Some(Expect { target, kind, marks, span })
    }

    /// A table as published: its number, a unit, headings, rows.
    fn published<'t>(&mut self, parts: &mut impl Iterator<Item = P<'t>>, span: Span) -> Option<PublishedTable> {
        let address = self.address(&parts.next()?);
        let answer = Answer { said: Said::Met, by: None, reading: None, needs: Vec::new(), span };
        let mut table = PublishedTable { address, unit: None, columns: Vec::new(), rows: Vec::new(), answer, span };
        for part in parts {
            match part.as_rule() {
                Rule::unit => table.unit = Some(self.name(&part)),
                Rule::header_row => {
                    for cell in part.into_inner() {
                        let span = self.span(&cell);
                        table.columns.extend(self.cell_key(cell).map(|key| (key, span)));
                    }
                }
                Rule::table_row => table.rows.extend(self.table_row(part)),
                _ => self.bad(part, Context::Rows),
            }
        }
        Some(table)
    }

    fn target(&mut self, pair: P) -> Option<Target> {
        let mut inner = pair.into_inner();
        let first = inner.next()?;
        Some(match first.as_rule() {
            Rule::everything_else => {
                Target::EverythingElse(first.into_inner().map(|address| self.address(&address)).collect())
            }
            _ => Target::At(self.address(&first), self.owners(inner)),
        })
    }

    fn arm(&mut self, pair: P) -> Option<(Option<YearSpan>, Answer)> {
        let (mut years, mut answer) = (None, None);
        for part in pair.into_inner() {
            match part.as_rule() {
                Rule::edition_span => years = self.years(part),
                _ => answer = self.answer(part),
            }
        }
        Some((years, answer?))
    }

    fn answer(&mut self, pair: P) -> Option<Answer> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let said = self.squeezed(&inner.next()?);
        let said = [
            Said::Met,
            Said::NotMet,
            Said::NotApplicable,
            Said::NoViolation,
            Said::Undecided,
            Said::ForTheAuthority,
            Said::Qualifies,
            Said::DoesNotQualify,
            Said::NoSuchRule,
        ]
        .into_iter()
        .find(|known| known.words() == said.text)?;
        let mut answer = Answer { said, by: None, reading: None, needs: Vec::new(), span };
        for part in inner {
            match part.as_rule() {
                Rule::said_by => {
                    let named = part.into_inner().next()?;
                    answer.by = Some(match named.as_rule() {
                        Rule::by_exception => {
                            AnswerBy::Exception(named.into_inner().next().map(|number| self.name(&number)))
                        }
                        Rule::text => AnswerBy::Named(self.quoted(named)?),
                        _ => AnswerBy::Named(self.name(&named)),
                    });
                }
                Rule::said_as => {
                    let mut names = part.into_inner();
                    let option = self.name(&names.next()?);
                    answer.reading = Some((option, names.next().map(|n| self.name(&n))));
                }
                _ => answer.needs = part.into_inner().filter_map(|p| self.whereabouts(p)).collect(),
            }
        }
        Some(answer)
    }

    /// Rows of values and answers: the columns headed by years or by `verdict` hold answers.
    fn grid<'t>(&mut self, mut parts: impl Iterator<Item = P<'t>>) -> Option<ExpectKind> {
        let (mut fields, mut answers) = (Vec::new(), Vec::new());
        for title in parts.next()?.into_inner() {
            let span = self.span(&title);
            let inner = title.into_inner().next()?;
            match inner.as_rule() {
                Rule::edition_span => answers.push(self.years(inner)),
                _ => {
                    let place = self.whereabouts(inner)?;
                    match place.name.text == "verdict" && place.of.is_empty() {
                        true => answers.push(None),
                        false if answers.is_empty() => fields.push(place),
                        false => self.misplaced(span, "fields stand left of the verdicts"),
                    }
                }
            }
        }
        let mut rows = Vec::new();
        for row in parts {
            if row.as_rule() == Rule::bad_chunk {
                self.bad(row, Context::Grid);
                continue;
            }
            let span = self.span(&row);
            let cells: Vec<P> = row.into_inner().collect();
            if cells.len() != fields.len() + answers.len() {
                let wanted = fields.len() + answers.len();
                self.misplaced(span, &format!("{} cells where the heading has {wanted}", cells.len()));
                continue;
            }
            let mut row = GridRow { values: Vec::new(), answers: Vec::new(), span };
            for (at, cell) in cells.into_iter().enumerate() {
                let span = self.span(&cell);
                let Some(inner) = cell.into_inner().next() else { continue };
                match (inner.as_rule(), at < fields.len()) {
                    (Rule::unchanged, true) => row.values.push((None, span)),
                    (Rule::loose_value, true) => row.values.push((self.fact_value(inner), span)),
                    (Rule::answer, false) => row.answers.extend(self.answer(inner)),
                    (_, true) => self.misplaced(span, "a value belongs here"),
                    (_, false) => self.misplaced(span, "a verdict such as `not met` belongs here"),
                }
            }
            if row.values.len() == fields.len() && row.answers.len() == answers.len() {
                rows.push(row);
            }
        }
        if answers.is_empty() {
            return None;
        }
        Some(ExpectKind::Grid { fields, answers, rows })
    }

    fn misplaced(&mut self, span: Span, what: &str) {
        self.diagnostics.push(
            Diagnostic::error(Code::BadGrid, "a row of expectations does not fit its heading")
                .at(span, what)
                .help("head the columns by fields, then by `verdict` or by years, and give each row as many cells"),
        );
    }

    // -------------------------------------------------------------------------------------------- claims

    fn claim(&mut self, pair: P) -> Option<Claim> {
        let span = self.span(&pair);
        let mut inner = pair.into_inner();
        let title = self.quoted(inner.next()?)?;
        let (mut under, mut only, mut expects, mut marks, mut says) = (None, None, Vec::new(), Vec::new(), None);
        for part in inner {
            match part.as_rule() {
                Rule::under => under = self.under(part),
                Rule::mark_line => marks.extend(part.into_inner().filter_map(|p| self.mark(p))),
                Rule::claim_only => only = part.into_inner().next().and_then(|c| self.clauses(c)),
                Rule::claim_expect => {
                    for arm in part.into_inner() {
                        let span = self.span(&arm);
                        let mut years = None;
                        for inner in arm.into_inner() {
                            match inner.as_rule() {
                                Rule::edition_span => years = self.years(inner),
                                _ => {
                                    let said = self.squeezed(&inner).text;
                                    let known = [ClaimAnswer::Refuted, ClaimAnswer::Supported, ClaimAnswer::NotSettled];
                                    let answer = known.into_iter().find(|a| a.words() == said);
                                    expects.extend(answer.map(|answer| (years.take(), answer, span)));
                                }
                            }
                        }
                    }
                }
                Rule::claim_says => {
                    if says.is_some() {
                        let here = self.span(&part);
                        self.says_once(here, "a second statement");
                        continue;
                    }
                    let mut inner = part.into_inner();
                    let rule = self.address(&inner.next()?);
                    let verb = match inner.next()?.as_rule() {
                        Rule::claim_demands => ClaimVerb::Demands,
                        Rule::claim_enough => ClaimVerb::ContentWith,
                        Rule::claim_binds => ClaimVerb::Binds,
                        _ => ClaimVerb::Spares,
                    };
                    says = inner.next().and_then(|c| self.clauses(c)).map(|clauses| (rule, verb, clauses));
                }
                _ => self.bad(part, Context::Claim),
            }
        }
        let Some((rule, verb, says)) = says else {
            self.says_once(title.span, "says nothing of a rule");
            return None;
        };
        Some(Claim { title, under, rule, verb, says, only, expects, marks, span })
    }

    fn says_once(&mut self, span: Span, what: &str) {
        self.diagnostics.push(
            Diagnostic::error(Code::ClaimSaysNotOne, "a claim says one thing of one rule")
                .at(span, what)
                .help("write `NUMBER demands: CONDITION`, `NUMBER is content with: …`, `NUMBER binds where …` or `NUMBER spares where …`"),
        );
    }

    fn survives(&mut self, pair: P) -> Option<Survives> {
        let mut inner = pair.into_inner();
        let reason = self.quoted(inner.next()?)?;
        let mut places = Vec::new();
        for part in inner {
            if part.as_rule() == Rule::bad_chunk {
                self.bad(part, Context::Survives);
                continue;
            }
            let mut inner = part.into_inner();
            let place = self.squeezed(&inner.next()?);
            places.push((place, inner.next().and_then(|t| self.quoted(t))));
        }
        Some(Survives { reason, places })
    }
}
