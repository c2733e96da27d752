//! Connectors, their halves and cavities.

use halfsplit_circuit::{Cavity, CavityRole, Connector, ConnectorId, PartId, PartKind, PointKind, View};
use halfsplit_syntax::Fact;

use super::{Lowering, declare::text};
use crate::{Entity, ProblemKind};

/// More cavities than any connector of a vehicle has, and than all those of one circuit have.
const MOST_CAVITIES: usize = 500;
const MOST_IN_ALL: usize = 50_000;

impl Lowering {
    /// A connector of a part. `crowded` says that the part has several, so
    /// that its connectors are shown with their owner: `A10.X2`, but `X34`.
    pub(super) fn part_connector(&mut self, owner: PartId, fact: &Fact, crowded: bool) {
        let Some(written) = fact.name("name") else { return };
        let owner_name = self.circuit.part(owner).name.clone();
        let full = format!("{owner_name}.{}", written.value);
        let bare = written.value.to_owned();
        if !self.claim(&full, written.span) {
            return;
        }
        let free = self.names.connectors_called(&bare).is_empty() && self.names.find_part(&bare).is_none();
        let shown = if crowded || !free { full.clone() } else { bare.clone() };
        let halves = ["wire".to_owned(), "part".to_owned()];
        let id = self.connector(fact, &shown, &[full, bare], Some(owner), halves);
        self.mention(written.span, Entity::Connector(id), true);
    }

    /// An inline connector.
    pub(super) fn inline(&mut self, fact: &Fact) {
        let Some(name) = fact.name("name") else { return };
        if !self.claim(name.value, name.span) {
            return;
        }
        let half = |slot| fact.word(slot).map(|w| w.value.to_owned());
        let halves = [
            half("first").unwrap_or_else(|| "first".into()),
            half("second").unwrap_or_else(|| "second".into()),
        ];
        let id = self.connector(fact, name.value, &[name.value.to_owned()], None, halves);
        self.mention(name.span, Entity::Connector(id), true);
    }

    fn connector(
        &mut self,
        fact: &Fact,
        shown: &str,
        spellings: &[String],
        owner: Option<PartId>,
        halves: [String; 2],
    ) -> ConnectorId {
        let label = text(fact, "label");
        let part = self.add_part(shown, PartKind::Connector, &label);
        self.describe(part, &fact.facts);
        let id = ConnectorId(self.circuit.connectors.len() as u32);
        let place = self.place(fact.span);
        self.connector_places.insert(id, place);
        self.part_places.insert(part, place);
        self.names.add_connector(shown, spellings, id);
        let described = self.circuit.part(part).clone();
        let minutes = |keyword: &str| fact.first(keyword)?.quantity("minutes")?.value.value;
        for inner in &fact.facts {
            self.say(Entity::Connector(id), inner);
            if inner.keyword() == "allow" {
                self.waiting.push((Entity::Connector(id), inner.clone()));
            }
        }
        self.contacts(id, fact);
        let count = self.cavity_count(shown, fact);
        let mut connector = Connector {
            name: shown.to_owned(),
            owner,
            part,
            halves,
            cavities: (1..=count).map(|n| plain_cavity(n.to_string())).collect(),
            place: described.place,
            reach: minutes("reach"),
            parting: minutes("parting"),
            repart: minutes("repart"),
            access: fact.first("access").map(|f| text(f, "shared")).unwrap_or_default(),
            view: match fact.first("view").and_then(|f| f.word("face")).map(|w| w.value) {
                Some("wire-side") => View::WireSide,
                Some("mating-face") => View::MatingFace,
                _ => View::Unknown,
            },
            rows: 1,
            cautions: described.cautions,
        };
        if let Some(rows) = fact.first("rows").and_then(|f| f.integer("count")) {
            connector.rows = rows.value.clamp(1, 255) as u8;
        }
        let lines = self.cavity_lines(&mut connector, fact);
        self.circuit.connectors.push(connector);
        self.cavity_points(id, spellings, &lines);
        id
    }

    /// What the file says of its contacts' resistance.
    fn contacts(&mut self, id: ConnectorId, fact: &Fact) {
        for contact in fact.all("contact") {
            let Some(ohms) = contact.quantity("ohms").and_then(|q| q.value.value) else { continue };
            match contact.range("cavities").map(|r| r.value) {
                Some(range) => {
                    for cavity in (range.first..=range.last).take(MOST_CAVITIES) {
                        self.contacts.insert((id, Some(cavity.to_string())), ohms);
                    }
                }
                None => drop(self.contacts.insert((id, None), ohms)),
            }
        }
    }

    /// How many cavities a connector gets: what is written, up to what can be.
    fn cavity_count(&mut self, connector: &str, fact: &Fact) -> usize {
        let Some(written) = fact.integer("count") else { return 0 };
        let most = MOST_CAVITIES.min(MOST_IN_ALL.saturating_sub(self.cavities));
        let count = usize::try_from(written.value).unwrap_or(usize::MAX);
        if count > most {
            let place = self.place(written.span);
            let connector = connector.to_owned();
            self.problem(place, ProblemKind::TooManyCavities { connector, count: written.value, most });
        }
        self.cavities += count.min(most);
        count.min(most)
    }

    /// Reads the cavity lines; gives back which cavity each one speaks of.
    fn cavity_lines(&mut self, connector: &mut Connector, fact: &Fact) -> Vec<(usize, halfsplit_base::Span)> {
        let lettered = fact.all("cavity").any(|f| f.has("name"));
        if lettered {
            connector.cavities.clear();
        }
        let mut lines: Vec<(usize, halfsplit_base::Span)> = Vec::new();
        for line in fact.all("cavity") {
            let (names, span) = match (line.range("cavities"), line.name("name")) {
                (Some(numbers), _) => {
                    // One more than a connector can have, so that what is beyond is noticed.
                    let all = (numbers.value.first..=numbers.value.last).take(MOST_CAVITIES + 1);
                    (all.map(|n| n.to_string()).collect(), numbers.span)
                }
                (None, Some(letter)) => (vec![letter.value.to_owned()], letter.span),
                (None, None) => continue,
            };
            for name in names {
                let room = connector.cavities.len() < MOST_CAVITIES && self.cavities < MOST_IN_ALL;
                if lettered && room && !connector.cavities.iter().any(|c| c.name == name) {
                    self.cavities += 1;
                    connector.cavities.push(plain_cavity(name.clone()));
                }
                let Some(index) = connector.cavities.iter().position(|c| c.name == name) else {
                    let place = self.place(span);
                    let declared = self.place(fact.span);
                    let kind = ProblemKind::NoSuchCavity {
                        connector: connector.name.clone(),
                        cavity: name,
                        count: connector.cavities.len(),
                        declared,
                    };
                    self.problem(place, kind);
                    break;
                };
                if let Some(&(_, first)) = lines.iter().find(|(i, _)| *i == index) {
                    let (place, first) = (self.place(span), self.place(first));
                    let connector = connector.name.clone();
                    self.problem(place, ProblemKind::CavityTwice { connector, cavity: name, first });
                    continue;
                }
                lines.push((index, span));
                fill(&mut connector.cavities[index], line);
            }
        }
        lines
    }

    fn cavity_points(
        &mut self,
        id: ConnectorId,
        spellings: &[String],
        lines: &[(usize, halfsplit_base::Span)],
    ) {
        let connector = self.circuit.connector(id).clone();
        for (index, cavity) in connector.cavities.iter().enumerate() {
            let line = lines.iter().find(|(i, _)| *i == index).map(|&(_, span)| self.place(span));
            for half in 0..2u8 {
                let kind = PointKind::Cavity { connector: id, half, cavity: index as u16 };
                let named =
                    |base: &String| format!("{base}.{}:{}", connector.halves[half as usize], cavity.name);
                let bare = |base: &String| format!("{base}:{}", cavity.name);
                let mut answers: Vec<String> = spellings.iter().map(named).collect();
                // On a part the bare form is the wire side; on an inline it is neither half, and so ambiguous.
                if half == 0 || connector.owner.is_none() {
                    answers.extend(spellings.iter().map(bare));
                }
                let shown = if half == 0 && connector.owner.is_some() {
                    bare(&connector.name)
                } else {
                    named(&connector.name)
                };
                let point = self.add_point(&shown, &answers, kind);
                self.circuit.connectors[id.index()].cavities[index].points[half as usize] = Some(point);
                if let Some(line) = line {
                    self.point_places.insert(point, line);
                }
            }
        }
    }

    /// Whether the part just declared has such a cavity: its connectors are the newest.
    pub(super) fn has_cavity(&self, owner: PartId, cavity: &str) -> bool {
        self.circuit
            .connectors
            .iter()
            .rev()
            .take_while(|c| c.owner == Some(owner))
            .any(|c| c.cavities.iter().any(|known| known.name == cavity))
    }
}

fn plain_cavity(name: String) -> Cavity {
    Cavity {
        name,
        colours: [String::new(), String::new()],
        label: String::new(),
        role: CavityRole::Plain,
        points: [None, None],
    }
}

fn fill(cavity: &mut Cavity, line: &Fact) {
    let colour = |slot| line.colour(slot).map(|c| c.value.to_owned());
    if let Some(first) = colour("colour") {
        cavity.colours = [first.clone(), colour("other").unwrap_or(first)];
    }
    cavity.label = text(line, "label");
    cavity.role = match line.word("role").map(|w| w.value) {
        Some("blank") => CavityRole::Blank,
        Some("spare") => CavityRole::Spare,
        Some("elsewhere") => CavityRole::Elsewhere,
        Some("double-crimp") => CavityRole::DoubleCrimp,
        _ => CavityRole::Plain,
    };
}
