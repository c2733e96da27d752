//! One call for each common kind of part.

use super::*;

/// A module's reference output.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ReferenceSpec {
    /// Nominal volts.
    pub volts: Volts,
    /// Source resistance.
    pub inner: Ohms,
    /// Constant-current limit.
    pub limit: Option<Amps>,
    /// Resistance from output to return when the module is not powered.
    pub unpowered: Ohms,
}

/// A module's feed.
#[derive(Clone, PartialEq, Debug)]
pub struct FeedSpec {
    /// Resistance awake.
    pub awake: Option<Ohms>,
    /// Resistance asleep.
    pub standby: Option<Ohms>,
    /// Volts that wake the module here.
    pub wakes: Option<Volts>,
    /// When the module wants to be awake.
    pub when: When,
}

/// A generator with its regulator, as [`BranchKind::Generator`] describes it.
#[derive(Clone, PartialEq, Debug)]
pub struct GeneratorSpec {
    /// Volts wanted at the sense point.
    pub volts: Volts,
    /// Inner resistance.
    pub inner: Ohms,
    /// Most current it gives.
    pub limit: Option<Amps>,
    /// Volts at the sense point under which sensing counts as lost.
    pub lost: Volts,
    /// Volts at its own terminal once sensing is lost.
    pub fallback: Volts,
    /// Most volts at its own terminal.
    pub ceiling: Volts,
    /// When it turns.
    pub turning: When,
}

/// A relay with one contact.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct RelaySpec {
    /// Coil resistance.
    pub coil: Ohms,
    /// Volts that pull it in.
    pub pull_in: Volts,
    /// Volts below which it drops out.
    pub drop_out: Volts,
}

impl Builder {
    /// A battery with posts `NAME:30` (positive) and `NAME:31` (negative), which
    /// become the circuit's posts if it has none yet.
    pub fn supply(&mut self, name: &str, volts: Volts, inner: Ohms) -> PartId {
        let part = self.part(name, "", PartKind::Supply);
        let a = self.point(&format!("{name}:30"), PointKind::Terminal);
        let b = self.point(&format!("{name}:31"), PointKind::Terminal);
        self.circuit.positive.get_or_insert(a);
        self.circuit.negative.get_or_insert(b);
        self.branch(part, a, b, BranchKind::Source { volts, inner });
        part
    }

    /// A ground point and its joint to the body; the body is the point `body`.
    pub fn ground_point(&mut self, name: &str, joint: Ohms) -> PartId {
        let part = self.part(name, "", PartKind::GroundPoint);
        let point = self.point(name, PointKind::Ground);
        let body = self.point("body", PointKind::Ground);
        self.circuit.body.get_or_insert(body);
        self.branch(part, point, body, BranchKind::Joint { ohms: joint });
        part
    }

    /// A bus bar, one point.
    pub fn bar(&mut self, name: &str) -> PartId {
        self.point(name, PointKind::Bar);
        self.part(name, "", PartKind::Bar)
    }

    /// A splice, one point.
    pub fn splice(&mut self, name: &str) -> PartId {
        self.point(name, PointKind::Splice);
        self.part(name, "", PartKind::Splice)
    }

    /// A road-vehicle copper wire, section in mm², length in metres.
    pub fn wire(&mut self, name: &str, a: &str, b: &str, colour: &str, mm2: f64, metres: f64) -> BranchId {
        let part = self.part(name, "", PartKind::Wire);
        let kind = BranchKind::Wire {
            ohms: wire::wire_ohms(mm2, metres),
            section: Some(mm2),
            metres: Some(metres),
            colour: colour.to_owned(),
        };
        self.coloured(part, a, b, colour, kind)
    }

    /// A wire of which only the ends and the colour are known.
    pub fn unknown_wire(&mut self, name: &str, a: &str, b: &str, colour: &str) -> BranchId {
        let part = self.part(name, "", PartKind::Wire);
        let kind = BranchKind::Wire { ohms: None, section: None, metres: None, colour: colour.to_owned() };
        self.coloured(part, a, b, colour, kind)
    }

    /// A wire's branch, its colour written into the cavities it ends in.
    fn coloured(&mut self, part: PartId, a: &str, b: &str, colour: &str, kind: BranchKind) -> BranchId {
        let ends = [self.at(a), self.at(b)];
        for end in ends {
            let kind = self.circuit.points.get(end.index()).map(|p| p.kind);
            if let Some(PointKind::Cavity { connector, half, cavity }) = kind {
                let it = &mut self.circuit.connectors[connector.index()].cavities[usize::from(cavity)];
                it.colours[usize::from(half)] = colour.to_owned();
            }
        }
        self.branch(part, ends[0], ends[1], kind)
    }

    /// A plain resistor between two points, a load of its own.
    pub fn resistor(&mut self, name: &str, a: &str, b: &str, ohms: Ohms) -> BranchId {
        let part = self.part(name, "", PartKind::Load);
        self.between(part, a, b, BranchKind::Load { ohms: Some(ohms), active: When::default() })
    }

    /// A rigid bar or crimp between two points of a part.
    pub fn joint(&mut self, part: PartId, a: &str, b: &str, ohms: Ohms) -> BranchId {
        self.between(part, a, b, BranchKind::Joint { ohms })
    }

    /// A blade fuse with sides `NAME:feed` and `NAME:load` and the cold resistance of its rating.
    pub fn fuse(&mut self, name: &str, rating: Amps) -> PartId {
        self.protection(name, rating, PartKind::Fuse)
    }

    /// A link with sides `NAME:feed` and `NAME:load` and the cold resistance of its rating.
    pub fn link(&mut self, name: &str, rating: Amps) -> PartId {
        self.protection(name, rating, PartKind::Link)
    }

    fn protection(&mut self, name: &str, rating: Amps, kind: PartKind) -> PartId {
        let part = self.part(name, "", kind);
        let a = self.point(&format!("{name}:feed"), PointKind::Terminal);
        let b = self.point(&format!("{name}:load"), PointKind::Terminal);
        let ohms = wire::fuse_ohms(rating).unwrap_or(f64::NAN);
        self.branch(part, a, b, BranchKind::Fuse { ohms, rating });
        part
    }

    /// A relay with coil 86–85 and a contact 30–87 that closes.
    pub fn relay(&mut self, name: &str, spec: RelaySpec) -> PartId {
        let part = self.part(name, "", PartKind::Relay);
        let [plus, minus, common, made] =
            ["86", "85", "30", "87"].map(|t| self.point(&format!("{name}:{t}"), PointKind::Terminal));
        let RelaySpec { coil, pull_in, drop_out } = spec;
        let coil = self.branch(
            part,
            plus,
            minus,
            BranchKind::Coil { ohms: coil, assumed: false, pull_in, drop_out },
        );
        let kind = BranchKind::RelayContact { ohms: wire::CONTACT, coil, closed_at_rest: false };
        self.branch(part, common, made, kind);
        part
    }

    /// A switch contact between two points, closed as `closed` says.
    pub fn switch(&mut self, name: &str, a: &str, b: &str, positions: &[&str], closed: When) -> PartId {
        let part = self.part(name, "", PartKind::Switch);
        self.part_mut(part).positions = positions.iter().map(|p| (*p).to_owned()).collect();
        self.between(part, a, b, BranchKind::Switch { ohms: wire::CONTACT, closed });
        part
    }

    /// A module, without its connectors.
    pub fn module(&mut self, name: &str, label: &str) -> PartId {
        self.part(name, label, PartKind::Module)
    }

    /// A sensor, without its connector.
    pub fn sensor(&mut self, name: &str, label: &str) -> PartId {
        self.part(name, label, PartKind::Sensor)
    }

    /// A draw of so many amperes at so many volts, as the resistance it amounts to.
    pub fn draws(&mut self, part: PartId, a: &str, b: &str, amps: Amps, volts: Volts) -> BranchId {
        let kind = BranchKind::Load { ohms: Some(volts / amps), active: When::default() };
        self.between(part, a, b, kind)
    }

    /// A filament lamp between two points.
    pub fn lamp(&mut self, name: &str, a: &str, b: &str, watts: f64, rated: Volts) -> BranchId {
        let part = self.part(name, "", PartKind::Lamp);
        self.between(part, a, b, BranchKind::Lamp { hot: rated * rated / watts, rated })
    }

    /// A module's feed from `a` to its return `b`.
    pub fn feed(&mut self, module: PartId, a: &str, b: &str, spec: FeedSpec) -> BranchId {
        let FeedSpec { awake, standby, wakes, when } = spec;
        self.between(module, a, b, BranchKind::Feed { awake, standby, wakes, when })
    }

    /// A module's reference output `a` with its return `b`; cannot sink, recovers by itself.
    pub fn reference(&mut self, module: PartId, a: &str, b: &str, spec: ReferenceSpec) -> BranchId {
        let ReferenceSpec { volts, inner, limit, unpowered } = spec;
        let kind = BranchKind::Reference { volts, inner, limit, unpowered, sinks: false, latches: false };
        self.between(module, a, b, kind)
    }

    /// A generator between `a` and `b`, its sense wire's far end at `sense`.
    pub fn generator(
        &mut self,
        part: PartId,
        a: &str,
        b: &str,
        sense: &str,
        spec: GeneratorSpec,
    ) -> BranchId {
        let sense = self.at(sense);
        let GeneratorSpec { volts, inner, limit, lost, fallback, ceiling, turning } = spec;
        let kind = BranchKind::Generator { volts, inner, limit, sense, lost, fallback, ceiling, turning };
        self.between(part, a, b, kind)
    }

    /// A motor as the resistance it amounts to, turning under its load or held fast: positions
    /// `turning` and `stalled` of the part. Its speed is no quantity here.
    pub fn motor(&mut self, name: &str, a: &str, b: &str, turning: Ohms, stalled: Ohms) -> PartId {
        let part = self.part(name, "", PartKind::Motor);
        self.part_mut(part).positions = vec!["turning".to_owned(), "stalled".to_owned()];
        for (ohms, position) in [(turning, "turning"), (stalled, "stalled")] {
            let kind = BranchKind::Load { ohms: Some(ohms), active: When::positions(&[position]) };
            self.between(part, a, b, kind);
        }
        part
    }

    /// Names a reference or driver: `A10.REF_A`.
    pub fn name_output(&mut self, name: &str, branch: BranchId) -> &mut Builder {
        self.circuit.outputs.push((name.to_owned(), branch));
        self
    }

    /// A module's driver between `a` and `b`.
    pub fn driver(
        &mut self,
        module: PartId,
        a: &str,
        b: &str,
        saturation: Volts,
        ohms: Ohms,
        on: When,
    ) -> BranchId {
        self.between(module, a, b, BranchKind::Driver { saturation, ohms, on })
    }
}
