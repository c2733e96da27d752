//! Shapes of what is drawn: symbols of IEC 60617 in a simplified form, standing upright on their line.

use std::fmt::Write as _;

use halfsplit_circuit::{BranchId, BranchKind, Circuit, PartKind, PointKind};

/// A symbol.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Shape {
    /// A wire with its words.
    Wire,
    /// A pin of a part's connector.
    Pin,
    /// A pin of an inline connector with both halves.
    Inline,
    /// A stud, post, blade or terminal.
    Terminal,
    /// A splice or any other joint of more than two lines.
    Splice,
    /// A bar or the body.
    Bar,
    /// A line that only passes.
    Through,
    /// A ground point's joint.
    Ground,
    /// A fuse or link.
    Fuse,
    /// A contact moved by hand, key or coil; closed or open is said by [`Look`].
    Contact,
    /// A relay's coil.
    Coil,
    /// A resistance: heater, sensor, anything that draws.
    Load,
    /// A sensor.
    Sensor,
    /// A lamp.
    Lamp,
    /// A motor.
    Motor,
    /// A diode.
    Diode,
    /// A part of a module.
    Module,
    /// A battery.
    Battery,
    /// A generator.
    Generator,
}

/// How a symbol stands in the state that is drawn.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub(super) struct Look {
    /// A contact that is open, a connector that is parted, a fuse that is out.
    pub open: bool,
    /// Parted, pulled or faulty: drawn dashed.
    pub dashed: bool,
    /// Whether current goes through a diode upwards.
    pub upwards: bool,
    /// Whether nothing is joined above, and below: the line ends here.
    pub first: bool,
    /// See above.
    pub last: bool,
}

impl Shape {
    /// The symbol of a branch.
    pub(super) fn of_branch(circuit: &Circuit, id: BranchId) -> Shape {
        let branch = circuit.branch(id);
        let part = circuit.part(branch.part).kind;
        match branch.kind {
            BranchKind::Wire { .. } => Shape::Wire,
            BranchKind::Joint { .. } if super::graph::is_ground_joint(circuit, id) => Shape::Ground,
            BranchKind::Joint { .. } if part == PartKind::Module && !leads_inside(circuit, id) => {
                Shape::Module
            }
            BranchKind::Joint { .. } | BranchKind::Mated { .. } => Shape::Through,
            BranchKind::Fuse { .. } => Shape::Fuse,
            BranchKind::Switch { .. } | BranchKind::RelayContact { .. } => Shape::Contact,
            BranchKind::Coil { .. } => Shape::Coil,
            BranchKind::Lamp { .. } => Shape::Lamp,
            BranchKind::Diode { .. } => Shape::Diode,
            BranchKind::Source { .. } => Shape::Battery,
            BranchKind::Generator { .. } => Shape::Generator,
            BranchKind::Feed { .. } | BranchKind::Driver { .. } | BranchKind::Reference { .. } => {
                Shape::Module
            }
            BranchKind::Load { .. } => match part {
                PartKind::Sensor => Shape::Sensor,
                PartKind::Motor => Shape::Motor,
                PartKind::Lamp => Shape::Lamp,
                PartKind::Module => Shape::Module,
                _ => Shape::Load,
            },
        }
    }

    /// Half the symbol's width, and its height, in pixels.
    pub(super) fn size(self) -> (i32, i32) {
        match self {
            Shape::Wire => (5, 34),
            Shape::Pin => (6, 20),
            Shape::Inline => (9, 26),
            Shape::Terminal => (5, 18),
            Shape::Splice => (6, 18),
            Shape::Bar => (22, 18),
            Shape::Through => (4, 8),
            Shape::Ground => (14, 34),
            Shape::Fuse => (9, 40),
            Shape::Contact => (14, 40),
            Shape::Coil => (15, 36),
            Shape::Load => (8, 42),
            Shape::Sensor | Shape::Module => (17, 42),
            Shape::Lamp | Shape::Motor | Shape::Generator => (15, 42),
            Shape::Diode => (10, 34),
            Shape::Battery => (16, 34),
        }
    }

    /// The symbol in SVG around the line at `x`, from `top` over `height` pixels.
    pub(super) fn draw(self, out: &mut String, x: i32, top: i32, height: i32, look: Look) {
        let (half, own) = self.size();
        let from = top + (height - own) / 2;
        let middle = from + own / 2;
        // No line leads into the empty paper.
        let (top, end) =
            (if look.first { middle } else { top }, if look.last { middle } else { top + height });
        let dash = if look.dashed { " off" } else { "" };
        let mut line = |x1: i32, y1: i32, x2: i32, y2: i32, class: &str| {
            if (x1, y1) != (x2, y2) {
                let _ = writeln!(out, r#"<path class="{class}" d="M{x1} {y1}L{x2} {y2}"/>"#);
            }
        };
        let ink = "ink";
        let (box_top, box_end) = match self {
            Shape::Fuse => (from + 6, from + own - 6),
            Shape::Coil => (from + 9, from + own - 9),
            Shape::Load | Shape::Sensor | Shape::Module => (from + 6, from + own - 6),
            Shape::Lamp | Shape::Motor | Shape::Generator => (middle - 14, middle + 14),
            _ => (middle, middle),
        };
        match self {
            Shape::Wire => return,
            Shape::Fuse if !look.open => line(x, top, x, end, ink),
            Shape::Inline if look.open => {
                line(x, top, x, middle - 8, ink);
                line(x, middle + 8, x, end, ink);
            }
            Shape::Pin if look.open => {
                line(x, top, x, middle - 5, ink);
                line(x, middle + 6, x, end, ink);
            }
            Shape::Contact => {
                line(x, top, x, middle - 12, ink);
                line(x, middle + 12, x, end, ink);
                match look.open {
                    true => line(x, middle + 12, x - 12, middle - 9, "blade"),
                    false => line(x, middle + 12, x, middle - 12, "blade"),
                }
            }
            Shape::Fuse | Shape::Coil | Shape::Load | Shape::Sensor | Shape::Module => {
                line(x, top, x, box_top, ink);
                line(x, box_end, x, end, ink);
            }
            Shape::Lamp | Shape::Motor | Shape::Generator => {
                line(x, top, x, box_top, ink);
                line(x, box_end, x, end, ink);
            }
            Shape::Battery => {
                line(x, middle + 4, x, end, ink);
                line(x - 15, middle + 4, x + 15, middle + 4, "thick");
                line(x - 8, middle - 4, x + 8, middle - 4, "thick");
            }
            Shape::Bar => {
                line(x, top, x, end, ink);
                line(x - 22, middle, x + 22, middle, "bar");
            }
            Shape::Ground => {
                line(x, top, x, end, ink);
                line(x - 13, middle - 4, x + 13, middle - 4, "thick");
                line(x - 8, middle + 1, x + 8, middle + 1, "thick");
                line(x - 4, middle + 6, x + 4, middle + 6, "thick");
            }
            Shape::Diode => {
                line(x, top, x, end, ink);
                let (base, tip) =
                    if look.upwards { (middle + 8, middle - 8) } else { (middle - 8, middle + 8) };
                line(x - 9, tip, x + 9, tip, "thick");
                let _ = writeln!(
                    out,
                    r#"<path class="solid{dash}" d="M{} {base}H{}L{x} {tip}Z"/>"#,
                    x - 9,
                    x + 9
                );
            }
            _ => line(x, top, x, end, ink),
        }
        let _ = match self {
            Shape::Fuse => rect(out, x - half, box_top, 2 * half, box_end - box_top, &format!("clear{dash}")),
            Shape::Coil | Shape::Load | Shape::Sensor | Shape::Module => {
                rect(out, x - half, box_top, 2 * half, box_end - box_top, &format!("box{dash}"))
            }
            Shape::Lamp | Shape::Motor | Shape::Generator => {
                writeln!(out, r#"<circle class="box{dash}" cx="{x}" cy="{middle}" r="14"/>"#)
            }
            Shape::Splice => writeln!(out, r#"<circle class="solid" cx="{x}" cy="{middle}" r="5"/>"#),
            Shape::Terminal => writeln!(out, r#"<circle class="box" cx="{x}" cy="{middle}" r="4"/>"#),
            Shape::Contact => {
                let (above, below) = (middle - 12, middle + 12);
                writeln!(
                    out,
                    r#"<path class="solid" d="M{} {above}h6v3h-6zM{} {below}h6v3h-6z"/>"#,
                    x - 3,
                    x - 3
                )
            }
            Shape::Pin => socket(out, x, middle, 5, look),
            Shape::Inline => socket(out, x, middle, 8, look),
            _ => Ok(()),
        };
        match self {
            Shape::Lamp => {
                let _ = writeln!(
                    out,
                    r#"<path class="ink" d="M{} {}l20 20m0 -20l-20 20"/>"#,
                    x - 10,
                    middle - 10
                );
            }
            Shape::Coil => {
                let _ = writeln!(out, r#"<path class="ink" d="M{} {box_end}L{} {box_top}"/>"#, x - 6, x + 6);
            }
            Shape::Motor => letter(out, x, middle, "M"),
            Shape::Generator => letter(out, x, middle, "G"),
            Shape::Battery => letter(out, x - 11, middle + 17, "+"),
            Shape::Sensor => {
                // A quantity comes in from the side.
                let _ = writeln!(out, r#"<path class="ink" d="M{} {middle}h14m-5 -5l5 5l-5 5"/>"#, x - 9);
            }
            _ => {}
        }
    }
}

/// Whether a joint ends where no probe reaches: the place itself is drawn as the module then.
fn leads_inside(circuit: &Circuit, id: BranchId) -> bool {
    let branch = circuit.branch(id);
    [branch.a, branch.b].into_iter().any(|end| circuit.point(end).kind == PointKind::Inside)
}

/// A pin in its socket; drawn apart where they are parted.
fn socket(out: &mut String, x: i32, middle: i32, size: i32, look: Look) -> std::fmt::Result {
    let gap = if look.open { 2 } else { 0 };
    let dash = if look.dashed { " off" } else { "" };
    let (arc, pin) = (middle - gap, middle + gap);
    writeln!(
        out,
        r#"<path class="thin{dash}" d="M{} {arc}A{size} {size} 0 0 1 {} {arc}"/>"#,
        x - size,
        x + size
    )?;
    writeln!(out, r#"<path class="blade" d="M{x} {pin}v{}"/>"#, size.min(7))
}

fn rect(out: &mut String, x: i32, y: i32, width: i32, height: i32, class: &str) -> std::fmt::Result {
    writeln!(out, r#"<rect class="{class}" x="{x}" y="{y}" width="{width}" height="{height}"/>"#)
}

fn letter(out: &mut String, x: i32, middle: i32, letter: &str) {
    let _ =
        writeln!(out, r#"<text class="mid" x="{x}" y="{}" aria-hidden="true">{letter}</text>"#, middle + 4);
}
