//! What is known about the name under the pointer: what shares its net, what a
//! meter reads there on a sound car, the colours, the way to the battery and back.

use std::fmt::Write as _;

use halfsplit_base::FileId;
use halfsplit_circuit::{
    BranchId, BranchKind, Caution, Cavity, Circuit, Connector, ConnectorId, Key, Part, PartId, PartKind,
    PointId, PointKind, State, healthy,
};
use halfsplit_model::{Entity, Kind, Model};
use halfsplit_render::{self as render, net::Sheet};

use crate::Hover;
use crate::pin::wire_side;

/// Pins that a hover lists before it only counts them.
const MOST_PINS: usize = 24;

/// What is known about the name at an offset.
pub(crate) fn hover(model: &Model, file: FileId, offset: u32) -> Option<Hover> {
    if let Some((kind, span)) = model.kind_at(file, offset) {
        let mut card = Card { model, circuit: &model.circuit, text: String::new() };
        card.kind(kind);
        return Some(Hover { span, markdown: card.text.trim_end().to_owned() });
    }
    let (entity, span) = model.entity_at(file, offset)?;
    let mut card = Card { model, circuit: &model.circuit, text: String::new() };
    match entity {
        Entity::Point(point) => card.point(point),
        Entity::Part(part) => card.part(part),
        Entity::Connector(connector) => card.connector(connector),
        Entity::Output(output) => card.output(output),
    }
    card.proof(entity);
    Some(Hover { span, markdown: card.text.trim_end().to_owned() })
}

/// A Markdown text that grows.
struct Card<'a> {
    model: &'a Model,
    circuit: &'a Circuit,
    text: String,
}

impl Card<'_> {
    fn title(&mut self, name: &str, words: &str) {
        let dash = if words.is_empty() { "" } else { " · " };
        let _ = writeln!(self.text, "**{name}**{dash}{words}\n");
    }

    fn line(&mut self, what: &str, words: &str) {
        if !words.is_empty() {
            let _ = writeln!(self.text, "{what}: {words}\n");
        }
    }

    /// Who followed the thing on a car, or that nobody did: what nobody traced is only as good as its drawing.
    fn proof(&mut self, entity: Entity) {
        let traces = &self.model.facts.traces;
        let own = traces.iter().find(|trace| trace.item == Some(entity));
        let words = match own.or_else(|| traces.iter().find(|trace| trace.item.is_none())) {
            Some(trace) => format!("traced on a car by {}, {}", trace.by, trace.on),
            None => "nobody traced this circuit on a car".to_owned(),
        };
        self.line("Proof", &words);
    }

    fn kind(&mut self, kind: &Kind) {
        let words = format!("kind of {}", kind.sort);
        let words = [words.as_str(), kind.label.as_str()];
        let words: Vec<&str> = words.into_iter().filter(|words| !words.is_empty()).collect();
        self.title(&kind.name, &words.join(", "));
        if kind.parameters.is_empty() {
            return;
        }
        let _ = writeln!(self.text, "A part may set\n");
        for parameter in &kind.parameters {
            let dash = if parameter.about.is_empty() { "" } else { ", " };
            let _ =
                writeln!(self.text, "- {} ({}){dash}{}", parameter.name, parameter.default, parameter.about);
        }
        self.text.push('\n');
    }

    fn kind_of(&mut self, item: Entity) {
        if let Some(kind) = self.model.kind_of(item) {
            self.line("Of kind", &kind.name);
        }
    }

    fn point(&mut self, point: PointId) {
        let sheet = Sheet::of(self.circuit, &in_run(), point);
        let own = sheet.pins.iter().find(|pin| pin.name == sheet.pin);
        self.title(&sheet.pin, own.map_or("", |pin| &pin.label));
        self.line("Colour", &self.colours(point));
        self.net_of(&sheet, point);
        if let PointKind::Cavity { connector, .. } = self.circuit.point(point).kind {
            self.place_of(connector);
        }
        // A splice, bar or ground point is a part and a point in one.
        if let Some(part) = self.circuit.part_named(&self.circuit.point(point).name) {
            self.remarks(self.circuit.part(part));
        }
    }

    fn output(&mut self, id: BranchId) {
        let branch = self.circuit.branch(id);
        let name = self.circuit.outputs.iter().find(|(_, output)| *output == id);
        self.title(name.map_or("", |(name, _)| name), &self.circuit.part(branch.part).label);
        match branch.kind {
            BranchKind::Reference { volts, limit, sinks, latches, .. } => {
                self.line("Gives", &render::volts(volts));
                self.line("Limit", &or_unknown(limit.map(|amps| format!("{} mA", amps * 1000.0))));
                self.line(
                    "After a short",
                    if latches { "stays off until the key is cycled" } else { "recovers" },
                );
                self.line("Sinks", if sinks { "yes" } else { "no" });
            }
            BranchKind::Driver { saturation, .. } => self.line("Drops", &render::volts(saturation)),
            _ => {}
        }
        let pins = [branch.a, branch.b].map(|end| wire_side(self.circuit, end));
        let names = pins.map(|pin| self.circuit.point(pin)).map(|pin| pin.name.as_str());
        self.line("Pins", &names.join(" → "));
        self.net(pins[0]);
    }

    fn net(&mut self, point: PointId) {
        self.net_of(&Sheet::of(self.circuit, &in_run(), point), point);
    }

    fn net_of(&mut self, sheet: &Sheet, point: PointId) {
        self.line(&format!("Reads on a sound car, {}", sheet.state), &self.expected(point));
        self.shared(sheet);
        self.line("Feed", &sheet.feed.join(" → "));
        self.line("Return", &sheet.returns.join(" → "));
        self.line("Parts at", &sheet.connectors.join(", "));
    }

    fn shared(&mut self, sheet: &Sheet) {
        let others: Vec<_> = sheet.pins.iter().filter(|pin| pin.name != sheet.pin).collect();
        if others.is_empty() {
            let _ = writeln!(self.text, "Shares its wire with nothing.\n");
            return;
        }
        let _ = writeln!(self.text, "Shares the wire with\n");
        for pin in others.iter().take(MOST_PINS) {
            let point = self.circuit.point_named(&pin.name);
            let colours = point.map(|point| self.colours(point)).unwrap_or_default();
            let words = [colours.as_str(), pin.label.as_str()];
            let words: Vec<&str> = words.into_iter().filter(|words| !words.is_empty()).collect();
            let _ = writeln!(self.text, "- {} {}", pin.name, words.join(", "));
        }
        if let Some(more) = others.len().checked_sub(MOST_PINS).filter(|&more| more > 0) {
            let _ = writeln!(self.text, "- and {more} more");
        }
        self.text.push('\n');
    }

    /// The colours of the wires at a point, each once, as `GY/RD` or `GY/RD, GY/YE`.
    fn colours(&self, point: PointId) -> String {
        let mut colours: Vec<&str> = Vec::new();
        for (_, branch) in self.circuit.branches() {
            if let BranchKind::Wire { colour, .. } = &branch.kind
                && (branch.a == point || branch.b == point)
                && !colour.is_empty()
                && !colours.contains(&colour.as_str())
            {
                colours.push(colour);
            }
        }
        colours.join(", ")
    }

    /// The reading against battery negative, everything mated, the key in run.
    fn expected(&self, point: PointId) -> String {
        let Some(black) = self.circuit.negative else {
            return "unknown: the file has no battery".into();
        };
        match healthy(self.circuit, &in_run(), point, black) {
            Ok(reading) if reading.floating => "floats: no part of this file drives it".into(),
            Ok(reading) => format!("**{}**", render::reading(&reading)),
            Err(error) => format!("unknown: {error}"),
        }
    }

    fn part(&mut self, id: PartId) {
        let part = self.circuit.part(id);
        if let Some(point) = self.circuit.point_named(&part.name) {
            return self.point(point);
        }
        self.title(&part.name, &part.label);
        self.kind_of(Entity::Part(id));
        if part.kind == PartKind::Wire {
            self.wire(id);
        } else {
            self.rating(id);
            self.terminals(&part.name);
            let connectors = self.circuit.connectors.iter();
            for connector in connectors.filter(|connector| connector.owner == Some(id)) {
                let _ = writeln!(self.text, "{}\n", connector.name);
                self.cavities(connector);
            }
        }
        self.remarks(part);
    }

    fn remarks(&mut self, part: &Part) {
        self.line("Place", &part.place);
        self.line("Reach", &part.reach.map(render::minutes).unwrap_or_default());
        self.line("Note", &part.note);
        self.cautions(&part.cautions);
    }

    fn wire(&mut self, id: PartId) {
        let wire = self.model.wires.iter().find(|wire| wire.part == id);
        let Some(branch) = wire.and_then(|wire| wire.branch).map(|branch| self.circuit.branch(branch)) else {
            return;
        };
        if let BranchKind::Wire { colour, section, metres, ohms } = &branch.kind {
            let ends = [branch.a, branch.b].map(|end| self.circuit.point(end).name.as_str());
            self.line("From", &ends.join(" to "));
            self.line("Colour", colour);
            self.line("Section", &or_unknown(section.map(|section| format!("{section} mm²"))));
            self.line("Length", &or_unknown(metres.map(|metres| format!("{metres} m"))));
            self.line("Resistance", &or_unknown(ohms.map(render::value::ohms)));
        }
        self.net(branch.a);
    }

    fn rating(&mut self, id: PartId) {
        for (_, branch) in self.circuit.branches_of(id) {
            if let BranchKind::Fuse { rating, .. } = branch.kind {
                self.line("Rating", &format!("{rating} A"));
            }
        }
    }

    /// What a meter reads at each terminal of a part without a connector.
    fn terminals(&mut self, part: &str) {
        let mut any = false;
        for (at, point) in self.circuit.points.iter().enumerate() {
            let is_own = point.name.strip_prefix(part).is_some_and(|rest| rest.starts_with(':'));
            if is_own && point.kind == PointKind::Terminal {
                any = true;
                let point_id = PointId(at as u32);
                let _ = writeln!(
                    self.text,
                    "- {}: {}",
                    point.name,
                    self.with_expected(&self.colours(point_id), point_id)
                );
            }
        }
        if any {
            self.text.push('\n');
        }
    }

    fn connector(&mut self, id: ConnectorId) {
        let connector = self.circuit.connector(id);
        let owner = connector.owner.map(|part| self.circuit.part(part));
        let owner = owner.map(|part| format!("{} {}", part.name, part.label)).unwrap_or_default();
        self.title(&connector.name, &owner);
        self.kind_of(Entity::Connector(id));
        self.cavities(connector);
        self.place_of(id);
    }

    /// The cavities that hold a wire of this file: colours, purpose, expected volts.
    fn cavities(&mut self, connector: &Connector) {
        let wired = |cavity: &&Cavity| cavity.colours.iter().any(|colour| !colour.is_empty());
        for cavity in connector.cavities.iter().filter(wired).take(MOST_PINS) {
            let [one, other] = &cavity.colours;
            let colours =
                if one == other || other.is_empty() { one.clone() } else { format!("{one} to {other}") };
            let words = [colours.as_str(), cavity.label.as_str()].map(str::trim);
            let words: Vec<&str> = words.into_iter().filter(|words| !words.is_empty()).collect();
            let words = words.join(", ");
            let words = cavity.points[0].map_or(words.clone(), |point| self.with_expected(&words, point));
            let _ = writeln!(self.text, "- {}: {words}", cavity.name);
        }
        self.text.push('\n');
    }

    fn with_expected(&self, words: &str, point: PointId) -> String {
        let comma = if words.is_empty() { "" } else { ", " };
        format!("{words}{comma}{}", self.expected(point))
    }

    fn place_of(&mut self, id: ConnectorId) {
        let connector = self.circuit.connector(id);
        self.line(&format!("{} sits", connector.name), &connector.place);
        self.line("Reach", &or_unknown(connector.reach.map(render::minutes)));
        self.cautions(&connector.cautions);
    }

    fn cautions(&mut self, cautions: &[Caution]) {
        for caution in cautions {
            self.line("**Caution**", &caution.words);
        }
    }
}

fn in_run() -> State {
    State::with_key(Key::Run)
}

fn or_unknown(words: Option<String>) -> String {
    words.unwrap_or_else(|| "unknown".into())
}

#[cfg(test)]
mod tests {
    use crate::{FilePosition, Host};

    /// The hover where `$0` would stand behind `before`, in the reference circuit.
    fn hover(before: &str) -> String {
        let text = include_str!("../../../examples/tern/reference-a.circuit");
        let mut host = Host::default();
        let file = host.set("reference-a.circuit".into(), text);
        let offset = text.find(before).map(|at| at + before.len()).unwrap() as u32;
        let hover = host.analysis().hover(FilePosition { file, offset });
        hover.map(|hover| format!("{}\n\n{}", &text[hover.span.range()], hover.markdown)).unwrap_or_default()
    }

    #[test]
    fn a_pin_tells_its_net() {
        insta::assert_snapshot!(hover("SP10          to X34"));
    }

    #[test]
    fn a_wire_tells_its_copper_and_its_net() {
        insta::assert_snapshot!(hover("wire W3"));
    }

    #[test]
    fn a_connector_tells_its_cavities() {
        insta::assert_snapshot!(hover("inline X21"));
    }

    #[test]
    fn a_part_tells_where_it_is() {
        insta::assert_snapshot!(hover("fuse F12"));
    }

    #[test]
    fn a_module_tells_its_pins() {
        insta::assert_snapshot!(hover("module A10"));
    }

    #[test]
    fn a_splice_tells_its_net_where_it_is_declared_and_where_it_is_used() {
        insta::assert_snapshot!(hover("splice SP10"));
        assert_eq!(hover("to SP10"), hover("splice SP10"));
    }

    #[test]
    fn a_reference_tells_its_pin() {
        insta::assert_snapshot!(hover("reference  REF_A"));
    }

    #[test]
    fn a_ground_point_tells_who_ends_there() {
        insta::assert_snapshot!(hover("ground-point GP102"));
    }

    #[test]
    fn a_word_that_is_no_name_tells_nothing() {
        assert_eq!(hover("inner  "), "");
    }
}
