//! What 517.13, 250.118, 250.119 and 250.122 of the shipped 2017 rulebook ask, written by hand over plain structs: the
//! yardstick for the evaluator. Same verdicts, disputed readings included; no reasons.

use crate::plain::{
    Bonding, Box, BoxMaterial, Circuit, Color, Device, DeviceType, Faceplate, Known, Link, Material, Members, Method,
    Micro, Occupancy, Outlet, Part, Path, Plain, Project, ReMark, Sheath, Space, SpaceUse, Stripe, Yoke,
};
use whereas::eval::Verdict;

/// Yes, no, or what is lacking.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Tri {
    No,
    Yes,
    /// A fact is unknown.
    Open,
    /// Only a judgment is.
    Judgment,
}

use Tri::{Judgment, No, Open, Yes};

impl Tri {
    fn and(self, other: impl FnOnce() -> Tri) -> Tri {
        match self {
            No => No,
            Yes => other(),
            unknown => match other() {
                No => No,
                Yes => unknown,
                Judgment => unknown,
                Open => Open,
            },
        }
    }

    fn or(self, other: impl FnOnce() -> Tri) -> Tri {
        self.not().and(|| other().not()).not()
    }

    fn not(self) -> Tri {
        match self {
            No => Yes,
            Yes => No,
            unknown => unknown,
        }
    }
}

fn known(holds: bool) -> Tri {
    if holds { Yes } else { No }
}

fn yes(fact: Option<bool>) -> Tri {
    fact.map_or(Open, known)
}

fn is<T: Copy>(fact: Option<T>, holds: impl Fn(T) -> bool) -> Tri {
    fact.map_or(Open, |value| known(holds(value)))
}

/// For values that may be absent: absence answers no.
fn has<T: Copy>(fact: Known<T>, holds: impl Fn(T) -> bool) -> Tri {
    match fact {
        Known::Is(value) => known(holds(value)),
        Known::Absent => No,
        Known::Unknown => Open,
    }
}

fn absent<T>(fact: Known<T>) -> Tri {
    match fact {
        Known::Is(_) => No,
        Known::Absent => Yes,
        Known::Unknown => Open,
    }
}

fn some<T>(list: &Members<T>, mut holds: impl FnMut(&T) -> Tri) -> Tri {
    let mut answer = No;
    for member in &list.stated {
        answer = answer.or(|| holds(member));
        if answer == Yes {
            return Yes;
        }
    }
    match &list.more {
        Some(more) => answer.or(|| holds(more).and(|| Open)),
        None => answer,
    }
}

fn every<T>(list: &Members<T>, mut holds: impl FnMut(&T) -> Tri) -> Tri {
    some(list, |member| holds(member).not()).not()
}

/// 6 ft (1.8 m): the lenient one.
const SIX_FEET: Micro = 1_828_800;
/// 7 1/2 ft (2.3 m): the lenient one for what has to be higher.
const SEVEN_AND_A_HALF_FEET: Micro = 2_286_000;
const UNIT: Micro = 1_000_000;
/// Places in the scale of trade sizes.
const TRADE_1_2: u8 = 1;
const TRADE_3_4: u8 = 2;
const TRADE_1_1_4: u8 = 4;
/// Place of 4 AWG in the scale of wire sizes.
const AWG_4: u8 = 7;

/// Largest device in amperes, and the places of copper and aluminum sizes: table 250.122.
const SIZES: [(i64, u8, u8); 19] = [
    (15, 2, 3),
    (20, 3, 4),
    (60, 4, 5),
    (100, 5, 6),
    (200, 6, 7),
    (300, 7, 9),
    (400, 8, 10),
    (500, 9, 11),
    (600, 10, 12),
    (800, 11, 13),
    (1000, 12, 14),
    (1200, 13, 15),
    (1600, 14, 17),
    (2000, 15, 18),
    (2500, 17, 20),
    (3000, 18, 20),
    (4000, 19, 22),
    (5000, 21, 25),
    (6000, 23, 25),
];

/// Circular mils by place in the scale: chapter 9, table 8.
const AREAS: [i128; 31] = [
    1620, 2580, 4110, 6530, 10380, 16510, 26240, 41740, 52620, 66360, 83690, 105600, 133100, 167800, 211600, 250000,
    300000, 350000, 400000, 500000, 600000, 700000, 750000, 800000, 900000, 1000000, 1200000, 1250000, 1500000,
    1750000, 2000000,
];

/// A disputed text, chosen one way.
#[derive(Clone, Copy)]
enum Boxes {
    MayBeNonmetallic,
    AllMetal,
}

#[derive(Clone, Copy)]
enum Alone {
    EitherPath,
    MetalPath,
}

#[derive(Clone, Copy)]
enum Terminal {
    Wired,
    Yoke,
}

/// What the bare conductor against the armor of a cable counts for.
#[derive(Clone, Copy)]
enum Bare {
    WithItsArmor,
    Alone,
}

/// The disputed texts that a metal path depends on.
#[derive(Clone, Copy)]
struct Metal {
    boxes: Boxes,
    bare: Bare,
}

const METAL: [Metal; 4] = [
    Metal { boxes: Boxes::MayBeNonmetallic, bare: Bare::WithItsArmor },
    Metal { boxes: Boxes::MayBeNonmetallic, bare: Bare::Alone },
    Metal { boxes: Boxes::AllMetal, bare: Bare::WithItsArmor },
    Metal { boxes: Boxes::AllMetal, bare: Bare::Alone },
];
const ALONE: [Alone; 2] = [Alone::EitherPath, Alone::MetalPath];
const TERMINAL: [Terminal; 2] = [Terminal::Wired, Terminal::Yoke];

/// Duties on an outlet, in the order of [`verdicts`].
pub const OF_OUTLET: [&str; 7] =
    ["517.13(A)", "517.13(B)", "517.13", "517.13(B)(1)", "517.13(B)(1)(1)", "517.13(B)(1)(2)", "517.13(B)(1)(3)"];
/// Duties on a path, in the order of [`verdicts`].
pub const OF_PATH: [&str; 5] = ["517.13(B)(2)", "250.119", "250.122(A)", "250.122(B)", "250.122(C)"];

/// Judges all outlets (by circuit, then outlet, then duty), then all paths likewise.
pub fn verdicts(facts: &Plain, verdicts: &mut Vec<Verdict>) {
    verdicts.clear();
    for circuit in &facts.circuits {
        let judge = Judge::new(facts, circuit);
        for outlet in &circuit.outlets {
            judge.outlet(outlet, verdicts);
        }
    }
    for circuit in &facts.circuits {
        let judge = Judge::new(facts, circuit);
        for path in &circuit.paths.stated {
            judge.path(path, verdicts);
        }
    }
}

struct Judge<'f> {
    facts: &'f Plain,
    circuit: &'f Circuit,
}

fn verdict(applies: Tri, satisfied: impl FnOnce() -> Tri) -> Verdict {
    if applies == No {
        return Verdict::NotApplicable;
    }
    match (applies, satisfied()) {
        (Yes, Yes) => Verdict::Met,
        (Yes, No) => Verdict::NotMet,
        (Open, _) | (_, Open) => Verdict::Undecided,
        (_, _) => Verdict::ForTheAuthority,
    }
}

/// The verdict under every reading.
fn under<const N: usize>(all: [Verdict; N]) -> Verdict {
    match all.iter().all(|one| *one == all[0]) {
        true => all[0],
        false => Verdict::Undecided,
    }
}

impl<'f> Judge<'f> {
    fn new(facts: &'f Plain, circuit: &'f Circuit) -> Judge<'f> {
        Judge { facts, circuit }
    }

    fn outlet(&self, outlet: &Outlet, out: &mut Vec<Verdict>) {
        let serves = self.serves_patient_care();
        let reach = self.out_of_reach(outlet);
        let two = |asks: &dyn Fn(Metal) -> Tri| {
            under(METAL.map(|metal| {
                let asked = || asks(metal);
                if reach == No {
                    return verdict(serves, asked);
                }
                under(ALONE.map(|alone| {
                    verdict(serves, || {
                        asked().or(|| {
                            reach.and(|| match alone {
                                Alone::EitherPath => self.has_metal_path(metal).or(|| self.has_insulated_copper()),
                                Alone::MetalPath => self.has_metal_path(metal),
                            })
                        })
                    })
                }))
            }))
        };
        out.push(two(&|metal| self.has_metal_path(metal)));
        out.push(two(&|_| self.has_insulated_copper()));
        out.push(two(&|metal| self.has_different_paths(metal)));

        out.push(verdict(serves.and(|| self.has_insulated_copper()), || {
            some(&self.circuit.paths, |path| {
                self.insulated_copper(path).and(|| self.runs_in(path, metal_run).or(|| metal_run(path)))
            })
            .or(|| reach)
        }));

        let receptacle = is(outlet.device, |d| d == Device::Receptacle);
        let terminals = serves.and(|| receptacle).and(|| yes(outlet.isolated_ground).not());
        out.push(under(TERMINAL.map(|reading| {
            verdict(terminals, || {
                self.terminal_grounded(outlet, reading).or(|| {
                    self.is_insulated_copper(outlet.terminal_wire)
                        .and(|| has(outlet.terminal_link, |link| link == Link::InsulatedJumper))
                })
            })
        })));

        let metal_box = self.of_box(outlet, |b| is(b.material, |m| m == BoxMaterial::Metal));
        let on_metal = |metal| reach.and(|| self.has_metal_path(metal));
        out.push(under(METAL.map(|reading| {
            verdict(serves.and(|| metal_box), || {
                self.of_box(outlet, |b| self.is_insulated_copper(b.joined_to)).or(|| on_metal(reading))
            })
        })));

        let plate = has(outlet.faceplate, |plate| plate == Faceplate::Metal);
        let metal = is(outlet.device, |d| matches!(d, Device::Fixed | Device::Luminaire))
            .and(|| yes(outlet.conductive_surface))
            .and(|| yes(outlet.touchable))
            .and(|| is(outlet.operating_voltage, |v| v > 100 * UNIT))
            .or(|| is(outlet.device, |d| matches!(d, Device::Receptacle | Device::WallSwitch)).and(|| plate));
        out.push(under(METAL.map(|reading| {
            verdict(serves.and(|| metal), || {
                self.is_insulated_copper(outlet.surface_wire)
                    .or(|| plate.and(|| yes(outlet.plate_grounded)))
                    .or(|| on_metal(reading))
            })
        })));
    }

    fn path(&self, path: &Path, out: &mut Vec<Verdict>) {
        let circuit = self.circuit;
        let wire = yes(path.wire);
        let copper = self.serves_patient_care().and(|| self.insulated_copper(path));
        out.push(verdict(copper, || self.sized(path, circuit.overcurrent)));
        out.push(verdict(wire, || {
            yes(path.insulated)
                .not()
                .or(|| {
                    green(path).and(|| absent(path.stripes).or(|| has(path.stripes, |stripe| stripe == Stripe::Yellow)))
                })
                .or(|| {
                    has(path.size, |size| size >= AWG_4).and(|| yes(path.re_marked_everywhere)).and(|| {
                        has(path.re_marked, |how| {
                            matches!(how, ReMark::Stripped | ReMark::Colored | ReMark::Taped | ReMark::Labelled)
                        })
                    })
                })
                .or(|| yes(circuit.power_limited).and(|| is(circuit.volts, |v| v < 50 * UNIT)))
        }));
        out.push(verdict(wire, || match is(circuit.overcurrent_type, |kind| kind == DeviceType::InstantaneousTrip) {
            Yes => self.sized_by_fuse(path),
            No => self.sized(path, circuit.overcurrent),
            _ => {
                let (by_fuse, plainly) = (self.sized_by_fuse(path), self.sized(path, circuit.overcurrent));
                if by_fuse == plainly { by_fuse } else { Open }
            }
        }));
        let upsized = match (circuit.ungrounded_size, circuit.minimum_size) {
            (Some(size), Some(minimum)) => known(size > minimum),
            _ => Open,
        };
        out.push(verdict(wire.and(|| upsized), || self.proportional(path).or(|| self.as_large_as_circuit(path))));
        out.push(verdict(wire.and(|| absent(path.shared_overcurrent).not()), || {
            self.large_enough(path, path.shared_overcurrent)
        }));
    }

    // -------------------------------------------------------------------------------------------- spaces

    fn serves_patient_care(&self) -> Tri {
        match self.circuit.serves {
            Some(at) => patient_care(&self.facts.project, &self.facts.spaces[at]),
            None => patient_care(&self.facts.project, &Space::default()),
        }
    }

    // -------------------------------------------------------------------------------------------- paths

    fn has_metal_path(&self, metal: Metal) -> Tri {
        some(&self.circuit.paths, |path| self.metal_path(path, metal))
    }

    fn has_insulated_copper(&self) -> Tri {
        some(&self.circuit.paths, |path| self.insulated_copper(path))
    }

    /// A metal path and another one of insulated copper.
    fn has_different_paths(&self, reading: Metal) -> Tri {
        let paths = &self.circuit.paths;
        let mut answer = No;
        for (at, metal) in paths.stated.iter().enumerate() {
            let first = self.metal_path(metal, reading);
            if first == No {
                continue;
            }
            for (other, copper) in paths.stated.iter().enumerate() {
                if at != other {
                    answer = answer.or(|| first.and(|| self.insulated_copper(copper)));
                }
            }
            if let Some(more) = &paths.more {
                answer = answer.or(|| first.and(|| self.insulated_copper(more)).and(|| Open));
            }
            if answer == Yes {
                return Yes;
            }
        }
        if let Some(more) = &paths.more {
            let metal = self.metal_path(more, reading);
            let copper = some(paths, |path| self.insulated_copper(path));
            answer = answer.or(|| metal.and(|| copper).and(|| Open));
        }
        answer
    }

    fn metal_path(&self, path: &Path, reading: Metal) -> Tri {
        metal_run(path)
            .and(|| every(&path.parts, |part| self.grounding_conductor(part, path, reading.bare)))
            .and(|| every(&path.parts, |part| is(part.method, metal_clad).not().or(|| sheath_grounding(part))))
            .and(|| yes(path.continuous))
            .and(|| {
                let metal = |b: &Box| is(b.material, |m| m == BoxMaterial::Metal);
                match reading.boxes {
                    Boxes::AllMetal => every(&self.circuit.boxes, metal),
                    Boxes::MayBeNonmetallic => every(&self.circuit.boxes, |b| {
                        is(b.material, |m| m == BoxMaterial::Nonmetallic).not().or(|| yes(b.bonding_means))
                    }),
                }
            })
    }

    fn insulated_copper(&self, path: &Path) -> Tri {
        yes(path.wire)
            .and(|| yes(path.insulated))
            .and(|| has(path.material, |material| material == Material::Copper))
            .and(|| green(path))
            .and(|| absent(path.stripes))
            .and(|| self.runs_in(path, has_parts).or(|| has_parts(path)))
    }

    /// Asks the path in whose raceway or cable a wire lies.
    fn runs_in(&self, path: &Path, ask: impl Fn(&Path) -> Tri) -> Tri {
        match path.runs_in {
            Known::Is(at) => ask(&self.circuit.paths.stated[at]),
            Known::Absent => No,
            Known::Unknown => Open,
        }
    }

    /// 250.118(1): wires.
    fn wire_grounding(&self, path: &Path, reading: Bare) -> Tri {
        yes(path.wire)
            .and(|| {
                has(path.material, |material| {
                    matches!(material, Material::Copper | Material::Aluminum | Material::Clad)
                })
            })
            .and(|| match reading {
                Bare::Alone => yes(path.wire),
                Bare::WithItsArmor => yes(path.wire)
                    .and(|| yes(path.insulated).not())
                    .and(|| has(path.material, |material| matches!(material, Material::Aluminum | Material::Clad)))
                    .and(|| {
                        self.runs_in(path, |armor| {
                            some(&armor.parts, |part| {
                                is(part.method, metal_clad)
                                    .and(|| has(part.bonding, |bonding| bonding == Bonding::FullSize))
                            })
                        })
                    })
                    .not(),
            })
    }

    fn is_insulated_copper(&self, wire: Known<usize>) -> Tri {
        match wire {
            Known::Is(at) => self.insulated_copper(&self.circuit.paths.stated[at]),
            Known::Absent => No,
            Known::Unknown => Open,
        }
    }

    /// 250.118: parts of raceway and cable.
    fn grounding_conductor(&self, part: &Part, path: &Path, reading: Bare) -> Tri {
        let overcurrent = |most: i64| is(self.circuit.overcurrent, |current| current <= most * UNIT);
        let with_wire =
            || yes(part.must_flex).not().or(|| some(&self.circuit.paths, |wire| self.wire_grounding(wire, reading)));
        let Some(method) = part.method else { return Open };
        match method {
            Method::Rigid | Method::Intermediate | Method::Tubing => Yes,
            Method::Flexible => yes(part.listed)
                .and(|| yes(part.fittings_listed))
                .and(|| overcurrent(20))
                .and(|| has(part.trade_size, |size| size <= TRADE_1_1_4))
                .and(|| short(path))
                .and(with_wire),
            Method::Liquidtight => yes(part.listed)
                .and(|| yes(part.fittings_listed))
                .and(|| {
                    has(part.trade_size, |size| size <= TRADE_1_2).and(|| overcurrent(20)).or(|| {
                        has(part.trade_size, |size| (TRADE_3_4..=TRADE_1_1_4).contains(&size))
                            .and(|| overcurrent(60))
                            .and(|| some(&path.parts, small_flex).not())
                    })
                })
                .and(|| short(path))
                .and(with_wire),
            Method::FlexibleTubing => yes(part.fittings_listed).and(|| overcurrent(20)).and(|| short(path)),
            Method::Armored => has(part.bonding, |bonding| bonding == Bonding::Strip),
            Method::Mineral => is(part.sheath, |sheath| sheath == Sheath::Copper),
            Method::Interlocked | Method::Smooth | Method::Corrugated => {
                yes(part.contains_grounding_wire).or(|| sheath_grounding(part))
            }
            Method::Tray | Method::Cablebus => yes(part.sheath_identified),
            Method::Wireway | Method::Gutter | Method::OtherRaceway => yes(part.listed),
            Method::Surface => yes(part.listed).and(|| yes(part.sheath_identified)),
            Method::Other => No,
        }
    }

    // -------------------------------------------------------------------------------------------- outlets

    fn of_box(&self, outlet: &Outlet, ask: impl Fn(&Box) -> Tri) -> Tri {
        match outlet.box_ {
            Known::Is(at) => ask(&self.circuit.boxes.stated[at]),
            Known::Absent => No,
            Known::Unknown => Open,
        }
    }

    fn out_of_reach(&self, outlet: &Outlet) -> Tri {
        is(outlet.device, |d| d == Device::Luminaire)
            .and(|| is(outlet.height, |height| height > SEVEN_AND_A_HALF_FEET))
            .or(|| is(outlet.device, |d| d == Device::WallSwitch).and(|| yes(outlet.in_vicinity).not()))
    }

    fn terminal_grounded(&self, outlet: &Outlet, reading: Terminal) -> Tri {
        let wired = self
            .is_insulated_copper(outlet.terminal_wire)
            .and(|| has(outlet.terminal_link, |link| link == Link::Direct));
        match reading {
            Terminal::Wired => wired,
            Terminal::Yoke => wired.or(|| {
                has(outlet.yoke, |yoke| yoke == Yoke::SelfGrounding)
                    .and(|| self.of_box(outlet, |b| self.is_insulated_copper(b.joined_to)))
            }),
        }
    }

    // -------------------------------------------------------------------------------------------- sizes

    fn sized(&self, path: &Path, overcurrent: Option<Micro>) -> Tri {
        self.large_enough(path, overcurrent.map_or(Known::Unknown, Known::Is)).or(|| self.as_large_as_circuit(path))
    }

    fn sized_by_fuse(&self, path: &Path) -> Tri {
        self.large_enough(path, self.circuit.largest_motor_fuse).or(|| self.as_large_as_circuit(path))
    }

    fn as_large_as_circuit(&self, path: &Path) -> Tri {
        match (path.size, self.circuit.ungrounded_size) {
            (Known::Absent, _) => No,
            (Known::Is(size), Some(circuit)) => known(size >= circuit),
            (Known::Is(_) | Known::Unknown, _) => Open,
        }
    }

    /// At least the size that table 250.122 gives.
    fn large_enough(&self, path: &Path, overcurrent: Known<Micro>) -> Tri {
        match (path.size, overcurrent, path.material) {
            (Known::Absent, ..) | (_, Known::Absent, _) | (.., Known::Absent) => No,
            (Known::Is(size), Known::Is(current), Known::Is(material)) => {
                required_size(current, material).map_or(Open, |required| known(size >= required))
            }
            (Known::Is(size), Known::Is(current), Known::Unknown) => match required_size(current, Material::Copper) {
                // The copper column is the smaller one throughout.
                Some(required) if size < required => No,
                Some(_) | None => Open,
            },
            _ => Open,
        }
    }

    fn proportional(&self, path: &Path) -> Tri {
        let circuit = self.circuit;
        match (path.size, path.material) {
            (Known::Absent, _) | (_, Known::Absent) => No,
            (Known::Is(size), Known::Is(material)) => {
                let (Some(current), Some(larger), Some(minimum)) =
                    (circuit.overcurrent, circuit.ungrounded_size, circuit.minimum_size)
                else {
                    return Open;
                };
                let Some(required) = required_size(current, material) else { return Open };
                known(area(size) * area(minimum) >= area(required) * area(larger))
            }
            _ => Open,
        }
    }
}

fn area(size: u8) -> i128 {
    AREAS[usize::from(size)]
}

/// Table 250.122; nothing beyond its end.
fn required_size(current: Micro, material: Material) -> Option<u8> {
    let (_, copper, aluminum) = SIZES.iter().find(|(most, ..)| current <= most * UNIT)?;
    match material {
        Material::Copper => Some(*copper),
        Material::Aluminum | Material::Clad => Some(*aluminum),
        Material::Other => None,
    }
}

fn patient_care(project: &Project, space: &Space) -> Tri {
    let health_care = is(project.occupancy, |occupancy| {
        use Occupancy::{
            Clinic, DentalOffice, Hospital, LimitedCare, MedicalOffice, NursingHome, Outpatient, PsychiatricHospital,
            RehabilitationHospital, SubstanceHospital,
        };
        matches!(
            occupancy,
            Hospital
                | PsychiatricHospital
                | SubstanceHospital
                | RehabilitationHospital
                | NursingHome
                | LimitedCare
                | Clinic
                | MedicalOffice
                | DentalOffice
                | Outpatient
        )
    })
    .or(|| is(project.occupancy, |o| o != Occupancy::Veterinary).and(|| yes(project.care_for_people)));
    let outpatient = || {
        is(project.occupancy, |o| {
            matches!(o, Occupancy::Clinic | Occupancy::MedicalOffice | Occupancy::DentalOffice | Occupancy::Outpatient)
        })
    };
    let outside = || {
        is(space.use_, |u| {
            matches!(u, SpaceUse::BusinessOffice | SpaceUse::Corridor | SpaceUse::WaitingRoom | SpaceUse::Lounge)
        })
        .and(outpatient)
        .or(|| {
            is(space.use_, |u| u == SpaceUse::SleepingOnly)
                .and(|| yes(space.wired_by_general_chapters))
                .and(|| is(project.occupancy, |o| matches!(o, Occupancy::NursingHome | Occupancy::LimitedCare)))
        })
    };
    health_care.and(|| space.patient_care_designation.map_or(Judgment, known)).and(|| outside().not())
}

fn has_parts(path: &Path) -> Tri {
    if !path.parts.stated.is_empty() {
        Yes
    } else if path.parts.more.is_some() {
        Open
    } else {
        No
    }
}

fn green(path: &Path) -> Tri {
    has(path.color, |color| color == Color::Green)
}

fn metal_run(path: &Path) -> Tri {
    has_parts(path).and(|| every(&path.parts, |part| is(part.method, metal_method)))
}

fn metal_clad(method: Method) -> bool {
    matches!(method, Method::Interlocked | Method::Smooth | Method::Corrugated)
}

fn flexible(method: Method) -> bool {
    matches!(method, Method::Flexible | Method::Liquidtight | Method::FlexibleTubing)
}

fn metal_method(method: Method) -> bool {
    !matches!(method, Method::Tray | Method::Cablebus | Method::Other)
}

fn sheath_grounding(part: &Part) -> Tri {
    let identified = || yes(part.sheath_identified);
    is(part.method, |m| m == Method::Interlocked)
        .and(|| has(part.bonding, |bonding| bonding == Bonding::FullSize))
        .and(identified)
        .or(|| is(part.method, |m| matches!(m, Method::Smooth | Method::Corrugated)).and(identified))
}

fn small_flex(part: &Part) -> Tri {
    is(part.method, flexible).and(|| has(part.trade_size, |size| size <= TRADE_1_2))
}

/// All flexible parts together at most 6 ft.
fn short(path: &Path) -> Tri {
    let (mut least, mut most) = (0, Some(0));
    for part in path.parts.stated.iter().chain(&path.parts.more) {
        match (is(part.method, flexible), part.length) {
            (No, _) => {}
            (Yes, Some(length)) => {
                least += length;
                most = most.map(|most| most + length);
            }
            (_, Some(length)) => most = most.map(|most| most + length),
            (_, None) => most = None,
        }
    }
    if least > SIX_FEET {
        No
    } else if most.is_some_and(|most| most <= SIX_FEET) {
        Yes
    } else {
        Open
    }
}
