//! A world in which every fact has a value, and how much of it is known so far. Knowing more never contradicts what was
//! known before, because everything stated is true of the world.

use super::tape::Tape;
use std::fmt::Write;

/// What a field holds.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    YesNo,
    OneOf(&'static [&'static str]),
    /// Unit, and whether it may be below zero.
    Quantity(&'static str, Sign),
    Ref(usize),
    ManyRef(usize),
    Many(usize),
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Sign {
    Any,
    NeverNegative,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Presence {
    Always,
    MayBeAbsent,
}

pub struct FieldSpec {
    pub name: &'static str,
    pub holds: Holds,
    pub presence: Presence,
}

pub struct ThingSpec {
    pub name: &'static str,
    pub fields: &'static [FieldSpec],
}

pub const COLOURS: &[&str] = &["red", "green", "blue"];
pub const SIZES: &[&str] = &["s1", "s2", "s3", "s4"];

pub const ROOM: usize = 0;
pub const CIRCUIT: usize = 1;
pub const PATH: usize = 2;
pub const PART: usize = 3;

const fn always(name: &'static str, holds: Holds) -> FieldSpec {
    FieldSpec { name, holds, presence: Presence::Always }
}

const fn optional(name: &'static str, holds: Holds) -> FieldSpec {
    FieldSpec { name, holds, presence: Presence::MayBeAbsent }
}

/// The things of [`VOCABULARY`], field by field.
pub const THINGS: &[ThingSpec] = &[
    ThingSpec {
        name: "room",
        fields: &[
            always("wet", Holds::YesNo),
            always("ward", Holds::YesNo),
            always("paint", Holds::OneOf(COLOURS)),
            always("area", Holds::Quantity("ft2", Sign::NeverNegative)),
            always("depth", Holds::Quantity("ft", Sign::Any)),
        ],
    },
    ThingSpec {
        name: "circuit",
        fields: &[
            always("live", Holds::YesNo),
            always("serves", Holds::Ref(ROOM)),
            optional("backup", Holds::Ref(ROOM)),
            always("amps", Holds::Quantity("A", Sign::NeverNegative)),
            always("offset", Holds::Quantity("ft", Sign::Any)),
            optional("drop", Holds::Quantity("ft", Sign::Any)),
            always("wire", Holds::OneOf(SIZES)),
            always("others", Holds::ManyRef(ROOM)),
            always("paths", Holds::Many(PATH)),
        ],
    },
    ThingSpec {
        name: "path",
        fields: &[
            always("good", Holds::YesNo),
            always("tint", Holds::OneOf(COLOURS)),
            optional("bond", Holds::OneOf(COLOURS)),
            always("gauge", Holds::OneOf(SIZES)),
            always("load", Holds::Quantity("A", Sign::NeverNegative)),
            always("sag", Holds::Quantity("ft", Sign::Any)),
            optional("slack", Holds::Quantity("ft", Sign::NeverNegative)),
            always("fine", Holds::YesNo),
            optional("runs-in", Holds::Ref(PATH)),
            always("parts", Holds::Many(PART)),
        ],
    },
    ThingSpec {
        name: "part",
        fields: &[
            always("ok", Holds::YesNo),
            always("len", Holds::Quantity("ft", Sign::NeverNegative)),
            optional("shape", Holds::OneOf(COLOURS)),
        ],
    },
];

/// The same in a rulebook.
pub const VOCABULARY: &str = r#"
terms for demo "Demo code"
choice colour { red, green, blue
    group warm = red, green
}
scale size { s1 < s2 < s3 < s4 }
thing project "the project" { built : date "day of building" }
thing room "a room" {
    wet   : yes-no "water"
    ward  : yes-no, judgment "the owner" "use as a ward"
    paint : colour "paint"
    area  : area, never negative "floor"
    depth : length "level"
    feeds : those circuit whose serves is this
}
thing circuit "a circuit" {
    live   : yes-no "voltage"
    serves : room "room served"
    backup : room, may be absent "room served in an emergency"
    amps   : current, never negative "rating"
    offset : length "offset"
    drop   : length, may be absent "drop"
    wire   : size "wire"
    others : many room by name "other rooms"
    paths  : many path "paths"
}
thing path "a path" {
    good  : yes-no "quality"
    tint  : colour "colour"
    bond  : colour, may be absent "bond"
    gauge : size "gauge"
    load  : current, never negative "load"
    sag   : length "sag"
    slack : length, never negative, may be absent "slack"
    fine  : yes-no, judgment "the inspector" "looks"
    runs-in : path, may be absent "path around it"
    parts : many part "parts"
}
thing part "a part" {
    ok    : yes-no "condition"
    len   : length, never negative "length"
    shape : colour, may be absent "shape"
}
"#;

/// The value of a field.
#[derive(Clone, PartialEq)]
pub enum Fact {
    Absent,
    /// Position in yes-no or a choice.
    Value(usize),
    /// In halves of the unit.
    Halves(i64),
    To(usize),
    AllOf(Vec<usize>),
    /// Members are the objects whose owner this is.
    Members,
}

/// How much of a fact is known.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Known {
    Nothing,
    Partly,
    Wholly,
}

#[derive(Clone)]
pub struct Thing {
    pub thing: usize,
    pub name: String,
    pub owner: Option<usize>,
    pub listed: bool,
    pub facts: Vec<Fact>,
    pub known: Vec<Known>,
    /// How a partly known fact is put.
    put: Vec<usize>,
}

#[derive(Clone)]
pub struct World {
    pub things: Vec<Thing>,
    /// Per thing: all top-level ones are stated, and this is said.
    pub closed: [bool; 4],
    put: usize,
}

/// How large worlds are.
#[derive(Clone, Copy)]
pub struct Most {
    pub rooms: usize,
    pub circuits: usize,
    pub paths: usize,
    pub parts: usize,
}

impl World {
    /// A world with everything decided and nothing known.
    pub fn draw(tape: &mut Tape, most: Most) -> World {
        let mut world = World { things: Vec::new(), closed: [false; 4], put: tape.below(256) };
        for _ in 0..1 + tape.below(most.rooms) {
            world.add(ROOM, None);
        }
        for _ in 0..1 + tape.below(most.circuits) {
            let circuit = world.add(CIRCUIT, None);
            for _ in 0..tape.below(most.paths + 1) {
                let path = world.add(PATH, Some(circuit));
                for _ in 0..tape.below(most.parts + 1) {
                    world.add(PART, Some(path));
                }
            }
        }
        for at in 0..world.things.len() {
            let thing = world.things[at].thing;
            let facts = THINGS[thing].fields.iter().map(|field| world.fact(tape, field)).collect();
            world.things[at].facts = facts;
            world.things[at].put = THINGS[thing].fields.iter().map(|_| tape.below(256)).collect();
        }
        world
    }

    fn add(&mut self, thing: usize, owner: Option<usize>) -> usize {
        let at = self.things.len();
        let name = format!("{}{at}", &THINGS[thing].name[..2]);
        let known = vec![Known::Nothing; THINGS[thing].fields.len()];
        self.things.push(Thing { thing, name, owner, listed: false, facts: Vec::new(), known, put: Vec::new() });
        at
    }

    fn fact(&self, tape: &mut Tape, field: &FieldSpec) -> Fact {
        if field.presence == Presence::MayBeAbsent && tape.chance(3) {
            return Fact::Absent;
        }
        match field.holds {
            Holds::YesNo => Fact::Value(tape.below(2)),
            Holds::OneOf(values) => Fact::Value(tape.below(values.len())),
            Holds::Quantity(_, Sign::NeverNegative) => Fact::Halves(tape.below(9) as i64),
            Holds::Quantity(_, Sign::Any) => Fact::Halves(tape.below(13) as i64 - 4),
            Holds::Ref(thing) => {
                let all = self.all(thing);
                if all.is_empty() { Fact::Absent } else { Fact::To(tape.one(&all)) }
            }
            Holds::ManyRef(thing) => Fact::AllOf(self.all(thing).into_iter().filter(|_| tape.below(2) == 1).collect()),
            Holds::Many(_) => Fact::Members,
        }
    }

    pub fn all(&self, thing: usize) -> Vec<usize> {
        (0..self.things.len()).filter(|at| self.things[*at].thing == thing).collect()
    }

    /// Learns something at random; `much` of 8 facts.
    pub fn learn(&mut self, tape: &mut Tape, much: usize) {
        for at in 0..self.things.len() {
            let may_be_listed = self.things[at].owner.is_none_or(|owner| self.things[owner].listed);
            if may_be_listed && tape.chance((much + 2).min(8)) {
                self.things[at].listed = true;
            }
            for field in 0..self.things[at].known.len() {
                if tape.chance(much) {
                    let known = if tape.below(2) == 0 { Known::Wholly } else { Known::Partly };
                    let slot = &mut self.things[at].known[field];
                    *slot = known.max(*slot);
                }
            }
        }
        for thing in [ROOM, CIRCUIT] {
            if tape.chance(much) {
                self.close_top(thing);
            }
        }
        self.settle();
    }

    /// Learns everything.
    pub fn learn_all(&mut self) {
        for thing in &mut self.things {
            thing.listed = true;
            thing.known.fill(Known::Wholly);
        }
        self.closed = [true; 4];
    }

    /// Forgets one fact that is not a list, wholly or partly.
    pub fn forget(&mut self, tape: &mut Tape) {
        let at = tape.below(self.things.len());
        let thing = &mut self.things[at];
        let field = tape.below(thing.known.len());
        if !matches!(THINGS[thing.thing].fields[field].holds, Holds::Many(_) | Holds::ManyRef(_)) {
            thing.known[field] = tape.one(&[Known::Nothing, Known::Partly]);
        }
    }

    /// All there is to know of an object and its members.
    pub fn learn_object(&mut self, at: usize) {
        self.things[at].listed = true;
        self.things[at].known.fill(Known::Wholly);
        for inner in 0..self.things.len() {
            if self.things[inner].owner == Some(at) {
                self.learn_object(inner);
            }
        }
        self.settle();
    }

    /// One fact; for a list, all its members, and all of each that was not stated before.
    pub fn learn_fact(&mut self, at: usize, field: usize) {
        self.things[at].known[field] = Known::Wholly;
        if THINGS[self.things[at].thing].fields[field].holds == Holds::Many(PATH)
            || THINGS[self.things[at].thing].fields[field].holds == Holds::Many(PART)
        {
            let new: Vec<usize> = (0..self.things.len())
                .filter(|m| self.things[*m].owner == Some(at) && !self.things[*m].listed)
                .collect();
            new.into_iter().for_each(|m| self.learn_object(m));
        }
        self.settle();
    }

    /// All top-level things of a kind.
    pub fn close_top(&mut self, thing: usize) {
        self.closed[thing] = true;
        for at in self.all(thing) {
            if !self.things[at].listed {
                self.learn_object(at);
            }
        }
        self.settle();
    }

    /// What is known whole of lists and references must be stated too.
    fn settle(&mut self) {
        loop {
            let mut list = Vec::new();
            for (at, thing) in self.things.iter().enumerate() {
                if let Some(owner) = thing.owner {
                    let field = self.things[owner].facts.iter().position(|f| *f == Fact::Members).unwrap();
                    if self.things[owner].listed && self.things[owner].known[field] == Known::Wholly && !thing.listed {
                        list.push(at);
                    }
                    if thing.listed && !self.things[owner].listed {
                        list.push(owner);
                    }
                }
                if !thing.listed {
                    continue;
                }
                for (field, fact) in thing.facts.iter().enumerate() {
                    let targets: Vec<usize> = match (fact, thing.known[field]) {
                        (_, Known::Nothing) => Vec::new(),
                        (Fact::To(to), Known::Wholly) => vec![*to],
                        (Fact::To(to), Known::Partly) => std::iter::once(*to).chain(self.instead(at, field)).collect(),
                        (Fact::AllOf(all), Known::Wholly) => all.clone(),
                        (Fact::AllOf(all), Known::Partly) => all.iter().copied().take(thing.put[field] % 3).collect(),
                        _ => Vec::new(),
                    };
                    list.extend(targets.into_iter().filter(|to| !self.things[*to].listed));
                }
            }
            if list.is_empty() {
                return;
            }
            for at in list {
                self.things[at].listed = true;
            }
        }
    }

    pub fn named(&self, name: &str) -> Option<usize> {
        self.things.iter().position(|t| t.name == name)
    }

    /// What is known so far, as facts.
    pub fn text(&self) -> String {
        let mut text = String::from("project \"Demo\" { }\n");
        for thing in [ROOM, CIRCUIT] {
            let name = THINGS[thing].name;
            let stated: Vec<usize> = self.all(thing).into_iter().filter(|at| self.things[*at].listed).collect();
            for at in &stated {
                let _ = writeln!(text, "{name} {} {{", self.things[*at].name);
                self.object(*at, 1, &mut text);
                text.push_str("}\n");
            }
            match (self.closed[thing], stated.is_empty()) {
                (true, true) => {
                    let _ = writeln!(text, "{name}: none");
                }
                (true, false) => {}
                (false, true) if self.put.is_multiple_of(2) => {}
                (false, _) => {
                    let _ = writeln!(text, "and maybe more {name}");
                }
            }
        }
        text
    }

    fn object(&self, at: usize, depth: usize, text: &mut String) {
        let thing = &self.things[at];
        let pad = "    ".repeat(depth);
        for (field, spec) in THINGS[thing.thing].fields.iter().enumerate() {
            if let Holds::Many(_) = spec.holds {
                let members: Vec<usize> = (0..self.things.len())
                    .filter(|m| self.things[*m].owner == Some(at) && self.things[*m].listed)
                    .collect();
                let closed = thing.known[field] == Known::Wholly;
                match (members.is_empty(), closed) {
                    (true, true) => {
                        let _ = writeln!(text, "{pad}{}: none", spec.name);
                    }
                    (true, false) => {}
                    _ => {
                        let _ = writeln!(text, "{pad}{} {{", spec.name);
                        for member in members {
                            let _ = writeln!(text, "{pad}    {} {{", self.things[member].name);
                            self.object(member, depth + 2, text);
                            let _ = writeln!(text, "{pad}    }}");
                        }
                        if !closed {
                            let _ = writeln!(text, "{pad}    and maybe more");
                        }
                        let _ = writeln!(text, "{pad}}}");
                    }
                }
                continue;
            }
            if let Some(put) = self.put(at, field, spec) {
                let colon = if put.starts_with('{') { "" } else { ":" };
                let _ = writeln!(text, "{pad}{}{colon} {put}", spec.name);
            }
        }
    }

    /// What else a partly known reference may lead to.
    fn instead(&self, at: usize, field: usize) -> Option<usize> {
        let thing = &self.things[at];
        let (Holds::Ref(of), Fact::To(to)) = (THINGS[thing.thing].fields[field].holds, &thing.facts[field]) else {
            return None;
        };
        let others: Vec<usize> = self.all(of).into_iter().filter(|other| other != to).collect();
        others.get(thing.put[field] % 4).copied()
    }

    fn put(&self, at: usize, field: usize, spec: &FieldSpec) -> Option<String> {
        let thing = &self.things[at];
        let style = thing.put[field];
        let fact = &thing.facts[field];
        let known = thing.known[field];
        if known == Known::Nothing {
            return (style.is_multiple_of(3)).then(|| "unknown".to_string());
        }
        let partly = known == Known::Partly;
        Some(match (spec.holds, fact) {
            (Holds::YesNo, _) if partly => return None,
            (Holds::YesNo, Fact::Value(v)) => ["no", "yes"][*v].to_string(),
            (Holds::OneOf(values), Fact::Value(v)) if partly => {
                let other = values[(v + 1 + style % (values.len() - 1)) % values.len()];
                match style % 4 {
                    0 => format!("not {other}"),
                    1 if spec.presence == Presence::MayBeAbsent => format!("{} or none", values[*v]),
                    _ => format!("{other} or {}", values[*v]),
                }
            }
            (Holds::OneOf(values), Fact::Value(v)) => values[*v].to_string(),
            (Holds::OneOf(values), Fact::Absent) if partly => format!("{} or none", values[style % values.len()]),
            (Holds::Quantity(unit, sign), Fact::Halves(n)) if partly => {
                let lowest = if sign == Sign::NeverNegative { 0 } else { i64::MIN };
                let show = |n: i64| format!("{} {unit}", half(n.max(lowest)));
                match style % 5 {
                    0 => format!("at least {}", show(n - (style as i64 / 5) % 3)),
                    1 => format!("at most {}", show(n + (style as i64 / 5) % 3)),
                    2 if *n > lowest => format!("more than {} and at most {}", show(n - 1), show(n + 2)),
                    3 => format!("at least {} and less than {}", show(*n), show(n + 1)),
                    _ => format!("at least {} and at most {}", show(n - 1), show(*n)),
                }
            }
            (Holds::Quantity(unit, _), Fact::Halves(n)) => format!("{} {unit}", half(*n)),
            (Holds::Ref(_), Fact::To(to)) if partly => {
                let name = &self.things[*to].name;
                let or_none =
                    if spec.presence == Presence::MayBeAbsent && style.is_multiple_of(3) { " or none" } else { "" };
                match self.instead(at, field) {
                    Some(other) => format!("{} or {name}{or_none}", self.things[other].name),
                    None => format!("{name}{or_none}"),
                }
            }
            (_, Fact::Absent) if partly => return None,
            (_, Fact::Absent) => "none".to_string(),
            (Holds::Ref(_), Fact::To(to)) => self.things[*to].name.clone(),
            (Holds::ManyRef(_), Fact::AllOf(all)) if partly => {
                let some: Vec<String> =
                    all.iter().take(style % 3).map(|to| format!("{} {{ }}", self.things[*to].name)).collect();
                if some.is_empty() {
                    return None;
                }
                return Some(format!("{{ {}\n and maybe more }}", some.join("\n ")));
            }
            (Holds::ManyRef(_), Fact::AllOf(all)) if all.is_empty() => "none".to_string(),
            (Holds::ManyRef(_), Fact::AllOf(all)) => {
                all.iter().map(|to| self.things[*to].name.clone()).collect::<Vec<_>>().join(", ")
            }
            _ => return None,
        })
    }
}

/// A number of halves.
pub fn half(n: i64) -> String {
    if n % 2 == 0 { format!("{}", n / 2) } else { format!("{}", n as f64 / 2.0) }
}
