//! Rulebooks drawn from a tape: kinds, formulas, tables of every mode, quantifiers, counts, folds, different paths,
//! exceptions, triggers, readings, waivers, modifications and tallies over the vocabulary of the worlds.

use super::tape::Tape;
use super::world::{CIRCUIT, COLOURS, PART, PATH, ROOM, SIZES, VOCABULARY};

/// Named things a condition may use, by the thing they belong to.
#[derive(Default)]
struct Names {
    kinds: [Vec<String>; 4],
    formulas: [Vec<String>; 4],
}

/// Draws a rulebook.
pub struct Book<'t, 'b> {
    tape: &'t mut Tape<'b>,
    names: Names,
    lines: Vec<String>,
    /// Sections that later ones may waive or modify.
    sections: Vec<(String, usize)>,
}

const NAMES: [&str; 4] = ["room", "circuit", "path", "part"];

/// Where a condition stands: the thing at hand, and the things around it that can be named.
#[derive(Clone, Copy)]
struct At {
    thing: usize,
    /// Conditions may still nest so deep.
    depth: usize,
}

impl At {
    fn deeper(self) -> At {
        At { depth: self.depth.saturating_sub(1), ..self }
    }

    fn on(self, thing: usize) -> At {
        At { thing, depth: self.depth.saturating_sub(1) }
    }
}

impl<'t, 'b> Book<'t, 'b> {
    /// A rulebook of one edition, `demo 1`.
    pub fn draw(tape: &'t mut Tape<'b>) -> String {
        let mut book = Book { tape, names: Names::default(), lines: Vec::new(), sections: Vec::new() };
        book.whole();
        format!("{VOCABULARY}\nedition demo 1 \"first\"\n{}\n", book.lines.join("\n"))
    }

    fn whole(&mut self) {
        self.tables();
        for at in 0..1 + self.tape.below(4) {
            self.named(at);
        }
        for at in 0..2 + self.tape.below(3) {
            self.section(at + 1);
        }
    }

    fn tables(&mut self) {
        let up = self.tape.one(&["next row up", "next row down"]);
        let other = self.tape.one(&["", ", no other size"]);
        self.lines.push(format!(
            "table 9.1 \"sizes\" by rating: current {up}, across tint: colour{other}, gives size {{\n    | red | green or blue\n 1 A | s1 | s2\n 2 A | s2 | -\n 3 A | s3 | s4\n}}"
        ));
        let other = self.tape.one(&["", ", no other size"]);
        self.lines.push(format!(
            "table 9.2 \"lengths\" by size: size{other}, gives length in ft {{\n s1 | 1\n s2 or s3 | {}\n{}}}",
            self.tape.one(&["2", "3", "1.5"]),
            self.tape.one(&["", " s4 | 4\n", " s4 | -\n"]),
        ));
        let other = self.tape.one(&["", ", no other size"]);
        self.lines.push(format!(
            "table 9.3 \"ranges\" by rating: current, by-size: size{other}, gives length in ft {{\n up to 1 A, s1 or s2 | 1\n up to 1 A, s3 or s4 | 2\n over 1 A, s1 | 3\n over 1 A, s2 or s3 | 1/2\n}}"
        ));
        let mode = self.tape.one(&["next row up", "next row down"]);
        self.lines
            .push(format!("table 9.4 \"steps\" by size: size {mode}, gives length in ft {{\n s2 | 1\n s3 | 3\n}}"));
        self.lines.push("table 9.5 \"bands\" by rating: current, gaps intended, gives length in ft {\n 0 A through 1 A | 1\n 1.5 A through 3 A | 2\n over 3 A | 3\n}".to_string());
    }

    fn named(&mut self, at: usize) {
        let thing = self.tape.one(&[PATH, CIRCUIT, PATH, PART, ROOM]);
        let name = format!("kind-{at}");
        if self.tape.chance(2) {
            let name = format!("formula-{at}");
            let expr = self.length(At { thing, depth: 1 });
            self.lines.push(format!("define {name} of {} = {expr}", NAMES[thing]));
            self.names.formulas[thing].push(name);
            return;
        }
        if self.tape.chance(2) {
            let (a, b) = (self.clause(At { thing, depth: 1 }), self.clause(At { thing, depth: 1 }));
            self.lines.push(format!(
                "reading {name} of {} \"which\", disputed \"x\" {{\n first \"one\" {{\n{a}\n}}\n second \"two\" {{\n{b}\n}}\n}}",
                NAMES[thing]
            ));
        } else {
            let lines = self.clauses(At { thing, depth: 2 }, 2);
            self.lines.push(format!("kind {name} of {} {{\n{lines}\n}}", NAMES[thing]));
        }
        self.names.kinds[thing].push(name);
    }

    fn section(&mut self, number: usize) {
        let thing = self.tape.one(&[CIRCUIT, PATH, ROOM, CIRCUIT, PART]);
        let governs = match thing {
            PATH => "governs each path of circuit".to_string(),
            PART => "governs each part of path".to_string(),
            _ => format!("governs {}", NAMES[thing]),
        };
        let at = At { thing, depth: 2 };
        let mut body = vec![governs];
        if self.tape.chance(4) {
            let clause = self.clause(at);
            body.push(format!("when {clause}"));
        }
        let address = format!("{number}.1");
        match self.tape.below(8) {
            0 | 1 => {
                let clause = self.clause(at);
                body.push(format!("requires {clause}"));
                self.exceptions(at, &mut body, "");
                self.sections.push((address.clone(), thing));
            }
            2 if thing == CIRCUIT => {
                let (a, b) = (self.clause(At { thing: PATH, depth: 1 }), self.clause(At { thing: PATH, depth: 1 }));
                body.push(format!("requires different {{\n(A) path A where {a}\n(B) path B where {b}\n}}"));
                if self.tape.chance(4) {
                    let case = self.clause(at.deeper());
                    let then = self.tape.one(&["(A) is enough", "(A) or (B) is enough", "(B) is enough"]);
                    body.push(format!("unless Ex. 1 as relief-{number} when {case} then {then}"));
                }
            }
            3 => {
                let (a, b) = (self.clause(at), self.clause(at));
                body.push(format!("requires all of {{\n(1) {a}\n(2) {b}\n}}"));
                self.exceptions(at, &mut body, "to (2) ");
            }
            4 => {
                let (a, b, c) = (self.clause(at.deeper()), self.clause(at.deeper()), self.clause(at.deeper()));
                body.push(format!("requires {c} where any of {{\n(1) {a}\n(2) {b}\n}}"));
                self.exceptions(at, &mut body, "to (1), (2) ");
            }
            5 => {
                let clause = self.clause(at);
                body.push(format!("prohibits {clause}"));
                self.exceptions(at, &mut body, "");
            }
            6 if thing == CIRCUIT => {
                let (a, b) = (self.clause(At { thing: PATH, depth: 1 }), self.clause(At { thing: PATH, depth: 0 }));
                body.push(format!("tally needed-{number} = paths where {a}"));
                let count = 1 + self.tape.below(2);
                body.push(format!("requires at least {count} of needed-{number} where {b}"));
            }
            7 if thing == PATH || thing == PART => {
                let clause = self.clause(at);
                let name = format!("granted-{number}");
                self.lines
                    .push(format!("section {address} \"t\" {{\n permits {} as {name}, {clause}\n}}", NAMES[thing]));
                self.names.kinds[thing].push(name);
                return;
            }
            _ => {
                let clause = self.clause(at);
                body.push(format!("requires {clause}"));
                self.exceptions(at, &mut body, "");
                self.sections.push((address.clone(), thing));
            }
        }
        let target = self.sections.iter().find(|(target, of)| *target != address && *of == thing).cloned();
        if let Some((target, _)) = target
            && self.tape.chance(3)
        {
            let case = self.clause(At { thing, depth: 1 });
            let index = self.sections.iter().position(|(other, _)| *other == target).unwrap();
            self.sections.remove(index);
            if self.tape.chance(4) {
                body.push(format!("waives {target} when {case}"));
            } else {
                let instead = self.simple(At { thing, depth: 0 });
                body.push(format!("modifies {target} when {case} instead requires {instead}"));
            }
        }
        self.lines.push(format!("section {address} \"t\" {{\n{}\n}}", body.join("\n")));
    }

    fn exceptions(&mut self, at: At, body: &mut Vec<String>, to: &str) {
        if self.tape.chance(4) {
            let case = self.clause(at.deeper());
            if self.tape.chance(3) {
                let enough = self.clause(At { depth: 0, ..at });
                body.push(format!("unless Ex. 1 {to}when {case} then {enough} is enough"));
            } else {
                body.push(format!("unless Ex. 1 {to}when {case}"));
            }
        }
        if self.tape.chance(3) {
            let (case, instead) = (self.clause(at.deeper()), self.clause(At { depth: 0, ..at }));
            body.push(format!("Ex. 2 {to}when {case} instead requires {instead}"));
        }
    }

    fn clauses(&mut self, at: At, most: usize) -> String {
        let count = 1 + self.tape.below(most);
        (0..count).map(|_| self.clause(at)).collect::<Vec<_>>().join("\n")
    }

    /// One clause, safe to stand before a comma or a line end.
    fn clause(&mut self, at: At) -> String {
        if at.depth == 0 || self.tape.chance(3) {
            return self.simple(at);
        }
        match self.tape.below(6) {
            0 => format!("any of {{\n{}\n{}\n}}", self.clause(at.deeper()), self.clause(at.deeper())),
            1 => format!("all of {{\n{}\n{}\n}}", self.clause(at.deeper()), self.clause(at.deeper())),
            2 => format!("none of {{\n{}\n{}\n}}", self.clause(at.deeper()), self.simple(at)),
            3 => format!("all of {{\nif {}: {}\n}}", self.simple(at), self.clause(at.deeper())),
            _ => self.quantified(at),
        }
    }

    fn list(&mut self, at: At) -> Option<(String, usize)> {
        Some(match at.thing {
            CIRCUIT => match self.tape.below(4) {
                0 if !self.names.kinds[PATH].is_empty() => (format!("{} paths", self.names.kinds[PATH][0]), PATH),
                1 => ("good paths".to_string(), PATH),
                2 => ("others".to_string(), ROOM),
                _ => ("paths".to_string(), PATH),
            },
            PATH => match self.tape.below(3) {
                0 => ("parts".to_string(), PART),
                1 => ("ok parts".to_string(), PART),
                _ => ("paths of circuit".to_string(), PATH),
            },
            PART => ("parts of path".to_string(), PART),
            ROOM => ("feeds".to_string(), CIRCUIT),
            _ => return None,
        })
    }

    fn quantified(&mut self, at: At) -> String {
        let Some((list, member)) = self.list(at) else { return self.simple(at) };
        let inner = self.clause(at.on(member));
        let body = match self.tape.below(8) {
            0 | 1 => format!("some {list} where {inner}"),
            2 => format!("no {list} where {inner}"),
            3 => {
                let then = self.simple(at.on(member));
                format!("every {list} where {inner}: {then}")
            }
            4 => format!("at least {} of {list} where {inner}", 1 + self.tape.below(3)),
            5 => format!("exactly {} of {list} where {inner}", self.tape.below(3)),
            6 => format!("at most {} of {list} where {inner}", self.tape.below(3)),
            _ => match self.names.kinds[member].last() {
                Some(kind) => format!("{} {list} is {kind}", self.tape.one(&["some", "every"])),
                None => format!("fewer than {} of {list} where {inner}", 1 + self.tape.below(2)),
            },
        };
        format!("all of {{\n{body}\n}}")
    }

    /// A condition without lists of its own conditions.
    fn simple(&mut self, at: At) -> String {
        if !self.names.kinds[at.thing].is_empty() && self.tape.chance(2) {
            let kind = self.tape.below(self.names.kinds[at.thing].len());
            let kind = &self.names.kinds[at.thing][kind];
            return format!("{}{kind}", if self.tape.chance(2) { "not " } else { "" });
        }
        match self.tape.below(7) {
            0 => self.yes_no(at),
            1 | 2 => self.choice(at),
            3 => self.size(at),
            4 => self.absence(at),
            _ => self.numbers(at),
        }
    }

    fn yes_no(&mut self, at: At) -> String {
        let word = match at.thing {
            ROOM => self.tape.one(&["wet", "ward"]).to_string(),
            CIRCUIT => self.tape.one(&["live", "wet of serves", "ward of serves", "wet of backup"]).to_string(),
            PATH => self
                .tape
                .one(&[
                    "good",
                    "fine",
                    "live of circuit",
                    "good of runs-in",
                    "fine of runs-in",
                    "wet of serves of circuit",
                ])
                .to_string(),
            _ => self.tape.one(&["ok", "good of path", "live of circuit"]).to_string(),
        };
        if self.tape.chance(3) { format!("not {word}") } else { word }
    }

    fn choice(&mut self, at: At) -> String {
        let field = match at.thing {
            ROOM => "paint",
            CIRCUIT => self.tape.one(&["paint of serves", "paint of backup"]),
            PATH => {
                self.tape.one(&["tint", "bond", "tint of runs-in", "bond of runs-in", "paint of serves of circuit"])
            }
            _ => self.tape.one(&["shape", "tint of path", "bond of path"]),
        };
        let value = self.tape.one(COLOURS);
        match self.tape.below(4) {
            0 => format!("{field} is {value}"),
            1 => format!("{field} is not {value}"),
            2 => format!("{field} is warm"),
            _ => format!("{field} is {value} or blue"),
        }
    }

    fn size(&mut self, at: At) -> String {
        let field = match at.thing {
            PATH => self.tape.one(&["gauge", "wire of circuit", "gauge of runs-in"]),
            PART => "gauge of path",
            CIRCUIT => "wire",
            _ => return self.choice(at),
        };
        let value = self.tape.one(SIZES);
        let relation = self.tape.one(&["at least", "at most", "larger than", "smaller than"]);
        match self.tape.below(5) {
            0 => format!("{field} is {value}"),
            1 if at.thing == PATH => format!("gauge {relation} wire of circuit"),
            2 if at.thing == PATH => format!("gauge {relation} table 9.1 at amps of circuit across tint"),
            2 if at.thing == CIRCUIT => format!("wire {relation} table 9.1 at amps across paint of serves"),
            3 if at.thing == CIRCUIT => {
                let largest = self.tape.one(&["largest", "smallest"]);
                format!("wire {relation} ({largest} gauge of paths)")
            }
            _ => format!("{field} {relation} {value}"),
        }
    }

    fn absence(&mut self, at: At) -> String {
        let field = match at.thing {
            CIRCUIT => self.tape.one(&["backup", "drop"]),
            PATH => {
                self.tape.one(&["bond", "slack", "runs-in", "bond of runs-in", "slack of runs-in", "drop of circuit"])
            }
            PART => self.tape.one(&["shape", "bond of path"]),
            _ => return self.choice(at),
        };
        format!("{field} is {}none", self.tape.one(&["", "not "]))
    }

    fn numbers(&mut self, at: At) -> String {
        let relation = self.tape.one(&["at least", "at most", "more than", "less than"]);
        let number = self.tape.one(&["0", "1", "2", "1/2", "3", "-1", "1.5"]);
        if self.tape.chance(3) {
            let (left, right) = (self.amps(at), self.amps(at));
            return match (left, right) {
                (Some(left), Some(right)) if self.tape.chance(4) => {
                    format!("{} {relation} {}", apart(&left), apart(&right))
                }
                (Some(left), _) => format!("{} {relation} {number} A", apart(&left)),
                _ => self.choice(at),
            };
        }
        if self.tape.chance(2) && at.thing == CIRCUIT {
            let list = self.tape.one(&["paths", "good paths", "others"]);
            return format!("(count of {list}) {relation} {}", self.tape.below(3));
        }
        let left = self.length(at);
        if self.tape.chance(3) {
            let right = self.length(At { depth: 0, ..at });
            return format!("{} {relation} {}", apart(&left), apart(&right));
        }
        format!("{} {relation} {number} ft", apart(&left))
    }

    fn amps(&mut self, at: At) -> Option<String> {
        Some(match at.thing {
            CIRCUIT => match self.tape.below(6) {
                0 => "sum of load of paths".to_string(),
                1 => "sum of load of good paths".to_string(),
                2 => "largest load of paths".to_string(),
                3 => "smallest load of good paths".to_string(),
                4 => "amps x 2".to_string(),
                _ => "amps".to_string(),
            },
            PATH => self
                .tape
                .one(&[
                    "load",
                    "amps of circuit",
                    "load of runs-in",
                    "load / 2",
                    "(amps of circuit) / 2",
                    "load + (amps of circuit)",
                ])
                .to_string(),
            PART => self.tape.one(&["load of path", "amps of circuit"]).to_string(),
            _ => return None,
        })
    }

    fn length(&mut self, at: At) -> String {
        if !self.names.formulas[at.thing].is_empty() && self.tape.chance(2) {
            return self.names.formulas[at.thing][0].clone();
        }
        let plain: &[&str] = match at.thing {
            ROOM => &["depth", "area / 2 ft", "area / depth", "depth x 2"],
            CIRCUIT => &[
                "offset",
                "drop",
                "offset + drop",
                "offset - drop",
                "depth of serves",
                "depth of backup",
                "(area of serves) / offset",
                "sum of sag of paths",
                "sum of slack of paths",
                "largest slack of paths",
                "smallest sag of good paths",
                "largest sag of paths",
                "table 9.2 at wire",
                "table 9.3 at amps and wire",
                "table 9.4 at wire",
                "table 9.5 at amps",
                "offset beyond 1 ft",
            ],
            PATH => &[
                "sag",
                "slack",
                "sag of runs-in",
                "sum of len of parts",
                "sum of len of ok parts",
                "largest len of parts",
                "table 9.2 at gauge",
                "table 9.3 at load and gauge",
                "table 9.4 at gauge",
                "table 9.5 at load",
                "offset of circuit",
                "slack beyond 1 ft",
                "sag + (offset of circuit)",
            ],
            _ => &["len", "sag of path", "len + (slack of path)", "offset of circuit", "len x 2"],
        };
        self.tape.one(plain).to_string()
    }
}

/// In parentheses unless it is one word, which in parentheses would be a label.
fn apart(expression: &str) -> String {
    if expression.contains(' ') { format!("({expression})") } else { expression.to_string() }
}
