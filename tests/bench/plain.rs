//! The facts of an installation as a programmer would declare them for these checks alone: plain structs, `Option` for what
//! may be unknown, [`Known`] where absence is an answer of its own.
//!
//! Read once from an installation, outside the timing. Partly known values (`at least 15 A`, `copper or aluminum`) are
//! deliberately absent: they read as unknown.

use whereas::base::number::Number;
use whereas::facts::installation::{Cell, Installation, ListCell, MaybeAbsent, ObjectId};
use whereas::ir::program::Program;
use whereas::ir::schema::{FieldType, YES};

/// What is known of a value that may be absent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Known<T> {
    #[default]
    Unknown,
    Absent,
    Is(T),
}

/// Members of a list; `more` stands for any not stated.
#[derive(Debug, Clone)]
pub struct Members<T> {
    pub stated: Vec<T>,
    pub more: Option<T>,
}

impl<T: Default> Default for Members<T> {
    fn default() -> Self {
        Members { stated: Vec::new(), more: Some(T::default()) }
    }
}

macro_rules! choices {
    ($($name:ident { $($value:ident = $text:literal),* $(,)? })*) => {$(
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum $name { $($value,)* Other }
        impl FromWord for $name {
            fn from_word(word: &str) -> Self {
                match word { $($text => $name::$value,)* _ => $name::Other }
            }
        }
    )*};
}

trait FromWord: Copy {
    fn from_word(word: &str) -> Self;
}

choices! {
    Occupancy {
        Hospital = "hospital", PsychiatricHospital = "psychiatric-hospital", SubstanceHospital = "substance-abuse-hospital",
        RehabilitationHospital = "rehabilitation-hospital", NursingHome = "nursing-home",
        LimitedCare = "limited-care-facility", Clinic = "clinic", MedicalOffice = "medical-office",
        DentalOffice = "dental-office", Outpatient = "outpatient-facility", Veterinary = "veterinary",
    }
    SpaceUse {
        SleepingOnly = "sleeping-only", BusinessOffice = "business-office", Corridor = "corridor",
        WaitingRoom = "waiting-room", Lounge = "lounge",
    }
    Material { Copper = "copper", Aluminum = "aluminum", Clad = "copper-clad-aluminum" }
    Color { Green = "green" }
    Stripe { Yellow = "yellow-stripes" }
    ReMark { Stripped = "stripped", Colored = "colored-at-end", Taped = "taped", Labelled = "labelled" }
    Method {
        Rigid = "rigid-metal-conduit", Intermediate = "intermediate-metal-conduit", Tubing = "electrical-metallic-tubing",
        Flexible = "flexible-metal-conduit", Liquidtight = "liquidtight-flexible-metal-conduit",
        FlexibleTubing = "flexible-metallic-tubing", Armored = "armored-cable", Interlocked = "interlocked-metal-clad-cable",
        Smooth = "smooth-metal-clad-cable", Corrugated = "corrugated-metal-clad-cable",
        Mineral = "mineral-insulated-cable", Wireway = "metal-wireway", Gutter = "metal-auxiliary-gutter",
        OtherRaceway = "other-metal-raceway", Surface = "surface-metal-raceway", Tray = "metal-cable-tray",
        Cablebus = "cablebus",
    }
    Sheath { Copper = "copper-sheath" }
    Bonding { FullSize = "full-size", Strip = "bonding-strip" }
    BoxMaterial { Metal = "metal", Nonmetallic = "nonmetallic" }
    Device {
        Receptacle = "receptacle", WallSwitch = "wall-switch", Luminaire = "luminaire", Fixed = "fixed-equipment",
    }
    Link { Direct = "direct", InsulatedJumper = "insulated-jumper" }
    Yoke { SelfGrounding = "self-grounding" }
    Faceplate { Metal = "metal-plate" }
    DeviceType { InstantaneousTrip = "instantaneous-trip" }
}

/// Lengths, currents and voltages in millionths of the base unit; sizes by their place in the scale.
pub type Micro = i64;

#[derive(Debug, Clone, Default)]
pub struct Project {
    pub occupancy: Option<Occupancy>,
    pub care_for_people: Option<bool>,
}

#[derive(Debug, Clone, Default)]
pub struct Space {
    pub use_: Option<SpaceUse>,
    pub patient_care_designation: Option<bool>,
    pub wired_by_general_chapters: Option<bool>,
}

#[derive(Debug, Clone, Default)]
pub struct Part {
    pub method: Option<Method>,
    pub trade_size: Known<u8>,
    pub length: Option<Micro>,
    pub listed: Option<bool>,
    pub fittings_listed: Option<bool>,
    pub must_flex: Option<bool>,
    pub contains_grounding_wire: Option<bool>,
    pub bonding: Known<Bonding>,
    pub sheath_identified: Option<bool>,
    pub sheath: Option<Sheath>,
}

#[derive(Debug, Clone, Default)]
pub struct Path {
    pub parts: Members<Part>,
    pub continuous: Option<bool>,
    pub wire: Option<bool>,
    pub runs_in: Known<usize>,
    pub material: Known<Material>,
    pub insulated: Option<bool>,
    pub color: Known<Color>,
    pub stripes: Known<Stripe>,
    pub re_marked: Known<ReMark>,
    pub re_marked_everywhere: Option<bool>,
    pub size: Known<u8>,
    pub shared_overcurrent: Known<Micro>,
}

#[derive(Debug, Clone, Default)]
pub struct Box {
    pub material: Option<BoxMaterial>,
    pub joined_to: Known<usize>,
    pub bonding_means: Option<bool>,
}

#[derive(Debug, Clone, Default)]
pub struct Outlet {
    pub device: Option<Device>,
    pub height: Option<Micro>,
    pub in_vicinity: Option<bool>,
    pub box_: Known<usize>,
    pub faceplate: Known<Faceplate>,
    pub plate_grounded: Option<bool>,
    pub isolated_ground: Option<bool>,
    pub terminal_wire: Known<usize>,
    pub terminal_link: Known<Link>,
    pub yoke: Known<Yoke>,
    pub conductive_surface: Option<bool>,
    pub touchable: Option<bool>,
    pub operating_voltage: Option<Micro>,
    pub surface_wire: Known<usize>,
}

#[derive(Debug, Clone, Default)]
pub struct Circuit {
    pub serves: Option<usize>,
    pub overcurrent: Option<Micro>,
    pub overcurrent_type: Option<DeviceType>,
    pub largest_motor_fuse: Known<Micro>,
    pub volts: Option<Micro>,
    pub power_limited: Option<bool>,
    pub ungrounded_size: Option<u8>,
    pub minimum_size: Option<u8>,
    pub paths: Members<Path>,
    pub boxes: Members<Box>,
    pub outlets: Vec<Outlet>,
}

#[derive(Debug, Clone, Default)]
pub struct Plain {
    pub project: Project,
    pub spaces: Vec<Space>,
    pub circuits: Vec<Circuit>,
}

/// Reads plain structs from an installation.
pub fn read(program: &Program, facts: &Installation) -> Plain {
    let reader = Reader { program, facts };
    let all = |thing: &str| {
        program.schema.thing_named(thing).map_or(&[][..], |id| facts.stated[usize::from(id.0)].as_slice())
    };
    let spaces = all("space");
    Plain {
        project: facts.project.map_or_else(Project::default, |id| {
            let at = reader.at(id);
            Project { occupancy: at.choice("occupancy"), care_for_people: at.yes_no("care-for-people") }
        }),
        spaces: spaces
            .iter()
            .map(|id| {
                let at = reader.at(*id);
                Space {
                    use_: at.choice("use"),
                    patient_care_designation: at.yes_no("patient-care-designation"),
                    wired_by_general_chapters: at.yes_no("wired-by-general-chapters"),
                }
            })
            .collect(),
        circuits: all("branch-circuit").iter().map(|id| reader.circuit(*id, spaces)).collect(),
    }
}

struct Reader<'f> {
    program: &'f Program,
    facts: &'f Installation,
}

/// One object, read by the names of its fields.
struct At<'f> {
    reader: &'f Reader<'f>,
    id: ObjectId,
}

impl Reader<'_> {
    fn at(&self, id: ObjectId) -> At<'_> {
        At { reader: self, id }
    }

    fn circuit(&self, id: ObjectId, spaces: &[ObjectId]) -> Circuit {
        let at = self.at(id);
        let paths = at.list("paths");
        let boxes = at.list("boxes");
        Circuit {
            serves: at.reference("serves", spaces).known(),
            overcurrent: at.number("overcurrent").known(),
            overcurrent_type: at.choice("overcurrent-type"),
            largest_motor_fuse: at.number("largest-motor-fuse"),
            volts: at.number("volts").known(),
            power_limited: at.yes_no("power-limited"),
            ungrounded_size: at.step("ungrounded-size").known(),
            minimum_size: at.step("minimum-size").known(),
            paths: members(paths, |id| self.path(id, &paths.members)),
            boxes: members(boxes, |id| {
                let at = self.at(id);
                Box {
                    material: at.choice("box-material"),
                    joined_to: at.reference("joined-to", &paths.members),
                    bonding_means: at.yes_no("bonding-means"),
                }
            }),
            outlets: members(at.list("outlets"), |id| self.outlet(id, &paths.members, &boxes.members)).stated,
        }
    }

    fn path(&self, id: ObjectId, paths: &[ObjectId]) -> Path {
        let at = self.at(id);
        Path {
            parts: members(at.list("parts"), |id| self.part(id)),
            continuous: at.yes_no("continuous"),
            wire: at.yes_no("wire"),
            runs_in: at.reference("runs-in", paths),
            material: at.maybe_choice("material"),
            insulated: at.yes_no("insulated"),
            color: at.maybe_choice("insulation-color"),
            stripes: at.maybe_choice("stripes"),
            re_marked: at.maybe_choice("re-marked"),
            re_marked_everywhere: at.yes_no("re-marked-everywhere"),
            size: at.step("size"),
            shared_overcurrent: at.number("shared-overcurrent"),
        }
    }

    fn part(&self, id: ObjectId) -> Part {
        let at = self.at(id);
        Part {
            method: at.choice("method"),
            trade_size: at.step("trade-size"),
            length: at.number("length").known(),
            listed: at.yes_no("listed"),
            fittings_listed: at.yes_no("fittings-listed"),
            must_flex: at.yes_no("must-flex"),
            contains_grounding_wire: at.yes_no("contains-grounding-wire"),
            bonding: at.maybe_choice("bare-bonding-conductor"),
            sheath_identified: at.yes_no("sheath-identified"),
            sheath: at.choice("sheath-material"),
        }
    }

    fn outlet(&self, id: ObjectId, paths: &[ObjectId], boxes: &[ObjectId]) -> Outlet {
        let at = self.at(id);
        Outlet {
            device: at.choice("device"),
            height: at.number("height").known(),
            in_vicinity: at.yes_no("in-vicinity"),
            box_: at.reference("box", boxes),
            faceplate: at.maybe_choice("faceplate"),
            plate_grounded: at.yes_no("plate-on-grounded-yoke-or-box"),
            isolated_ground: at.yes_no("isolated-ground"),
            terminal_wire: at.reference("terminal-wire", paths),
            terminal_link: at.maybe_choice("terminal-link"),
            yoke: at.maybe_choice("yoke"),
            conductive_surface: at.yes_no("conductive-surface"),
            touchable: at.yes_no("touchable"),
            operating_voltage: at.number("operating-voltage").known(),
            surface_wire: at.reference("surface-wire", paths),
        }
    }
}

fn members<T>(list: &ListCell, read: impl Fn(ObjectId) -> T) -> Members<T> {
    Members { stated: list.members.iter().map(|id| read(*id)).collect(), more: list.more.map(read) }
}

impl<T> Known<T> {
    fn known(self) -> Option<T> {
        match self {
            Known::Is(value) => Some(value),
            Known::Unknown | Known::Absent => None,
        }
    }
}

impl<'f> At<'f> {
    fn cell(&self, field: &str) -> (&'f Cell, &'f FieldType) {
        let object = self.reader.facts.object(self.id);
        let schema = &self.reader.program.schema;
        let at = schema.field_named(object.thing, field).unwrap_or_else(|| panic!("no field {field}"));
        (&object.cells[usize::from(at.0)], &schema.field(object.thing, at).ty)
    }

    fn list(&self, field: &str) -> &'f ListCell {
        match self.cell(field).0 {
            Cell::List(list) => list,
            other => panic!("{field} is no list but {other:?}"),
        }
    }

    fn yes_no(&self, field: &str) -> Option<bool> {
        match self.cell(field).0 {
            Cell::Values(set, MaybeAbsent::Present) if set.count_ones() == 1 => Some(*set == YES),
            _ => None,
        }
    }

    fn step(&self, field: &str) -> Known<u8> {
        match self.cell(field).0 {
            Cell::Values(set, MaybeAbsent::Present) if set.count_ones() == 1 => Known::Is(set.trailing_zeros() as u8),
            Cell::Absent => Known::Absent,
            _ => Known::Unknown,
        }
    }

    fn maybe_choice<T: FromWord>(&self, field: &str) -> Known<T> {
        let FieldType::OneOf(domain) = self.cell(field).1 else { panic!("{field} is no choice") };
        match self.step(field) {
            Known::Is(at) => {
                Known::Is(T::from_word(&self.reader.program.schema.domain(*domain).values[usize::from(at)]))
            }
            Known::Absent => Known::Absent,
            Known::Unknown => Known::Unknown,
        }
    }

    fn choice<T: FromWord>(&self, field: &str) -> Option<T> {
        self.maybe_choice(field).known()
    }

    fn number(&self, field: &str) -> Known<Micro> {
        match self.cell(field).0 {
            Cell::Number(number) => micro(number).map_or(Known::Unknown, Known::Is),
            Cell::Absent => Known::Absent,
            _ => Known::Unknown,
        }
    }

    fn reference(&self, field: &str, among: &[ObjectId]) -> Known<usize> {
        match self.cell(field).0 {
            Cell::Object(id) => among.iter().position(|known| known == id).map_or(Known::Unknown, Known::Is),
            Cell::Absent => Known::Absent,
            _ => Known::Unknown,
        }
    }
}

fn micro(number: &Number) -> Option<Micro> {
    let (mantissa, scale) = number.as_small()?;
    mantissa.checked_mul(10i64.pow(6u32.checked_sub(u32::from(scale))?))
}
