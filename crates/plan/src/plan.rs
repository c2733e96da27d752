//! The plan as plain data: what to do, what to expect, what each outcome means.
//!
//! Names are as the author writes them and words are the trade's, but nothing
//! here is laid out for paper or screen.

use std::fmt;

use halfsplit_circuit::{
    BranchId, Class, Fault, Hazard, Key, Meter, Minutes, Ohms, PartId, PointId, State, Volts,
};

use crate::judge::Drive;
use crate::learned::Learned;
use crate::suspects::Unit;

/// An isolation plan.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The pin that reads wrong; what is complained of where the plan is for a complaint.
    pub pin: String,
    /// The complaint, where the plan is for one and not for a pin.
    pub complaint: Option<Complained>,
    /// Volts read there.
    pub reads: Option<Volts>,
    /// What the reading amounts to.
    pub class: Option<Class>,
    /// What a sound circuit reads there.
    pub healthy: Range,
    /// Key position of every live reading.
    pub key: Key,
    /// Supply as measured.
    pub supply: Option<Volts>,
    /// Where the meter rests.
    pub meter: MeterPlace,
    /// Facts that were given, and how many suspects each excluded on its own.
    pub facts: Vec<FactUsed>,
    /// Repair units of the suspects.
    pub units: Vec<Unit>,
    /// What can be wrong, likeliest first.
    pub suspects: Vec<Suspect>,
    /// What confirmed causes of other cars did to the weights; `None` where there are none.
    pub learned: Option<Learned>,
    /// What no reading can exclude; never in the tree, always behind "fits none of these".
    pub always: Vec<Suspect>,
    /// What was considered and dropped.
    pub dropped: Vec<Dropped>,
    /// The steps; the first is the first to do.
    pub steps: Vec<Step>,
    /// Where the walk starts; a plan with one suspect alone has no step.
    pub start: Next,
    /// Expected minutes from the open bonnet to one repair unit, the way to the meter place included.
    pub expected_minutes: Minutes,
    /// What was proved about that number.
    pub optimality: Optimality,
    /// Ohms on the dead wire.
    pub dead_wire: Option<DeadWire>,
    /// Where the volts go on the way to a weak load and back.
    pub budget: Option<DropBudget>,
    /// What to move while the meter records least and most, where the fault comes and goes.
    pub wiggle: Vec<Wiggle>,
    /// Feeds and grounds of the module under load.
    pub feeds: Vec<LoadedCheck>,
    /// What to look for that no file draws.
    pub added_equipment: Vec<String>,
    /// What must have a reading before the module is named.
    pub module_gates: Vec<String>,
    /// What is read once more before a conclusion counts; `None` where nothing was read.
    pub recheck: Option<Recheck>,
    /// Dangers on the way, to be read before the first step.
    pub cautions: Vec<CautionNote>,
    /// Connectors to be mated again at the end.
    pub remate: Vec<String>,
}

/// The reading that a plan set out from, taken again with everything mated: sound by now, the fault comes and goes or
/// was a contact that the parting mended, and no conclusion counts.
#[derive(Clone, PartialEq, Debug)]
pub struct Recheck {
    /// Red lead, as the file names the point.
    pub red: String,
    /// Black lead, likewise.
    pub black: String,
    /// What a sound circuit shows a hand meter there.
    pub sound: Range,
}

/// What is complained of.
#[derive(Clone, PartialEq, Debug)]
pub struct Complained {
    /// In words.
    pub words: String,
    /// What sort of complaint it is.
    pub class: &'static str,
    /// Minutes before the first step: until the vehicle sleeps.
    pub set_up: Minutes,
}

/// What a step asks of the vehicle.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Sense {
    /// The meter.
    #[default]
    Meter,
    /// Whether a load works; answers are 1 for yes and 0 for no, as for those that follow.
    Works(Drive),
    /// Whether a load works as strongly as when sound.
    Strong(Drive),
    /// Whether the relay of a coil is heard to pull in.
    PulledIn(BranchId),
    /// Whether the live data say that a module commands an output on.
    Commanded(BranchId),
}

/// A predicted reading, volts or ohms; infinite ohms is OL.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Range {
    /// At declared values.
    pub nominal: f64,
    /// Least.
    pub low: f64,
    /// Most.
    pub high: f64,
}

/// Where the meter rests.
#[derive(Clone, Debug)]
pub struct MeterPlace {
    /// Red lead.
    pub red: PointId,
    /// Its name.
    pub name: String,
    /// Black lead's name.
    pub black: String,
    /// Where it is, in the author's words.
    pub place: String,
    /// Colour of the wire there.
    pub colour: String,
    /// Minutes to get there.
    pub minutes: Minutes,
    /// What it reads when sound, everything mated.
    pub healthy: Range,
    /// Cheaper or equal places that were refused.
    pub refused: Vec<Refused>,
}

/// A place where the meter may not rest.
#[derive(Clone, PartialEq, Debug)]
pub struct Refused {
    /// The place.
    pub name: String,
    /// Minutes to get there.
    pub minutes: Minutes,
    /// Why not.
    pub reason: String,
}

/// A fact and what it did.
#[derive(Clone, PartialEq, Debug)]
pub struct FactUsed {
    /// As given.
    pub words: String,
    /// Suspects that this fact excludes, whether the reading does so too or not.
    pub excluded: usize,
}

/// A suspect.
#[derive(Clone, PartialEq, Debug)]
pub struct Suspect {
    /// Position in [`Plan::units`]; `None` for what always remains possible.
    pub unit: Option<usize>,
    /// The repair unit's name.
    pub name: String,
    /// How it fails.
    pub mode: String,
    /// The resistance that reproduces the reading; infinite is a clean break.
    pub ohms: Option<Ohms>,
    /// Relative chance.
    pub weight: f64,
    /// Share of that weight that came from confirmed causes of other cars.
    pub from_cases: f64,
    /// What is wrong, at each resistance it may have; empty for what always remains possible.
    pub variants: Vec<Vec<Fault>>,
    /// The output that its module commands on, where that is the suspicion.
    pub commanded: Option<BranchId>,
}

/// A suspect that was considered and dropped.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Dropped {
    /// The repair unit.
    pub name: String,
    /// How it would have failed.
    pub mode: String,
    /// Why it is out.
    pub why: String,
}

/// One step.
#[derive(Clone, Debug)]
pub struct Step {
    /// 1, 2, …
    pub id: usize,
    /// What is done.
    pub kind: StepKind,
    /// In words.
    pub instruction: String,
    /// The connector, fuse or point that it is about.
    pub target: String,
    /// Where that is.
    pub place: String,
    /// Minutes, set-up included.
    pub minutes: Minutes,
    /// Expected minutes from here to the end, this step included.
    pub to_go: Minutes,
    /// Red lead.
    pub red: String,
    /// Black lead, as the file names the point.
    pub black: String,
    /// `V`, `ohm`, or nothing where something is seen or heard.
    pub unit: &'static str,
    /// Everything that is out at this reading.
    pub out: Vec<String>,
    /// Key, battery and everything that is out, as the solver takes them.
    pub state: State,
    /// Leads and setting, as the solver takes them.
    pub leads: Meter,
    /// What is asked: the meter, or something that is seen or heard.
    pub sense: Sense,
    /// The load, relay or output that is asked about; empty for the meter.
    pub subject: String,
    /// What the technician changes besides the state: a terminal that is backed out.
    pub held: Vec<Fault>,
    /// What a sound circuit reads here.
    pub sound: Range,
    /// What can come, lowest reading first; the last is always "fits none of these".
    pub outcomes: Vec<StepOutcome>,
}

/// What kind of step it is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum StepKind {
    /// A connector is parted.
    Part,
    /// A fuse is pulled and put back.
    Pull,
    /// A load is hung on the leads.
    Load,
    /// An outside source feeds the wire.
    Inject,
    /// Ohms on the dead wire.
    Ohms,
    /// A reading at another place.
    Probe,
    /// Something is seen or heard.
    Watch,
}

/// What can come of a step.
#[derive(Clone, Debug)]
pub struct StepOutcome {
    /// The readings; `None` for "fits none of these" and where the meter finds none.
    pub range: Option<Range>,
    /// Whether it is that no steady reading comes: something switches on and off.
    pub wanders: bool,
    /// Whether a meter that does not settle, because nothing else holds the leads, belongs here too.
    pub floats: bool,
    /// What it amounts to.
    pub class: String,
    /// Positions in [`Plan::suspects`] that are left.
    pub suspects: Vec<usize>,
    /// Names of the repair units that are left.
    pub units: Vec<String>,
    /// Where it leads.
    pub next: Next,
}

/// Where an outcome leads.
#[derive(Clone, PartialEq, Debug)]
pub enum Next {
    /// To the step with this id.
    Step(usize),
    /// To an end.
    End(Conclusion),
}

/// The end of a walk.
#[derive(Clone, PartialEq, Debug)]
pub struct Conclusion {
    /// Positions in [`Plan::suspects`] that remain.
    pub suspects: Vec<usize>,
    /// Those of them that are all but excluded: each of their repair units has less than a twentieth of the chance.
    pub remote: Vec<usize>,
    /// Names of the repair units that remain, heaviest first.
    pub units: Vec<String>,
    /// What it is, in words.
    pub words: String,
    /// How to prove it before anything is replaced.
    pub prove: Vec<String>,
    /// Whether a module is among what remains, so that the module gates bind.
    pub gated: bool,
}

/// What was proved about the expected minutes.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Optimality {
    /// No plan from these steps costs less.
    Optimal,
    /// No plan from these steps costs less than this many minutes.
    Within {
        /// Minutes.
        bound: Minutes,
        /// Expected minutes over that bound.
        ratio: f64,
    },
    /// Nothing was proved.
    Unproved,
}

impl fmt::Display for Optimality {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Optimal => f.write_str("optimal"),
            Self::Within { bound, ratio } => {
                write!(f, "within {ratio:.2} of the bound of {bound:.2} min")
            }
            Self::Unproved => f.write_str("no bound proved"),
        }
    }
}

/// The table of ohms on the dead wire.
#[derive(Clone, Debug)]
pub struct DeadWire {
    /// Where the red lead rests.
    pub red: String,
    /// Connectors that must be out, beside the battery.
    pub out: Vec<String>,
    /// What to measure.
    pub rows: Vec<DeadRow>,
}

/// One line of the table.
#[derive(Clone, PartialEq, Debug)]
pub struct DeadRow {
    /// Black lead.
    pub black: String,
    /// What that is: `body`, `BK/GY sensor ground A`.
    pub what: String,
    /// What a sound wire reads.
    pub expected: Range,
}

/// A thing that is moved by hand-widths.
#[derive(Clone, PartialEq, Debug)]
pub struct Wiggle {
    /// The plug, wire, joint or piece of harness.
    pub name: String,
    /// Where it is, in the author's words.
    pub place: String,
    /// Minutes to get there and move it.
    pub minutes: Minutes,
}

/// The drops of a sound circuit from post to post, the load among them; they add up to the whole.
#[derive(Clone, PartialEq, Debug)]
pub struct DropBudget {
    /// The load.
    pub load: String,
    /// From the positive post to the negative one.
    pub rows: Vec<DropRow>,
    /// Volts between the posts meanwhile.
    pub total: Volts,
}

/// One section of a [`DropBudget`].
#[derive(Clone, PartialEq, Debug)]
pub struct DropRow {
    /// Nearer to the positive post.
    pub from: String,
    /// Nearer to the negative post.
    pub to: String,
    /// The part in between.
    pub part: String,
    /// Volts lost over it when sound.
    pub volts: Volts,
}

/// A feed or ground of the module under load.
#[derive(Clone, PartialEq, Debug)]
pub struct LoadedCheck {
    /// Cavity on the harness side.
    pub cavity: String,
    /// Its words and colour.
    pub what: String,
    /// `feed` or `ground`.
    pub role: &'static str,
    /// Connector that is out.
    pub out: String,
    /// Red lead.
    pub red: String,
    /// Black lead.
    pub black: String,
    /// What a sound circuit reads with the lamp across the leads.
    pub expected: Range,
    /// Least that passes.
    pub at_least: Volts,
    /// Why a sound circuit reads less, where it does.
    pub note: String,
}

/// A danger on the way.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct CautionNote {
    /// Where.
    pub at: String,
    /// What can hurt; `None` for a rule of the trade.
    pub hazard: Option<Hazard>,
    /// What to do about it.
    pub words: String,
}

impl Plan {
    /// The step with this id.
    pub fn step(&self, id: usize) -> Option<&Step> {
        id.checked_sub(1).and_then(|at| self.steps.get(at))
    }

    /// Units whose part is this one.
    pub fn units_of(&self, part: PartId) -> impl Iterator<Item = usize> + '_ {
        self.units.iter().enumerate().filter(move |(_, u)| u.parts.contains(&part)).map(|(at, _)| at)
    }
}
