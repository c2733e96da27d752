//! Findings that the author accepts, with a reason.

use std::collections::{BTreeSet, HashMap};

use halfsplit_base::{Finding, Severity};
use halfsplit_model::{Allow, Entity, Place};

use crate::survey::Survey;

/// The rules about `allow` lines themselves.
pub(crate) const RULES: [&str; 3] = ["unknown-rule", "allow-without-reason", "unused-allow"];

/// Leaves out what an `allow` covers, and reports every `allow` that covers
/// nothing, names no rule, or gives no reason.
pub(crate) fn apply(survey: &Survey, findings: Vec<Finding>) -> Vec<Finding> {
    let allows = &survey.model.allows;
    let covers: Vec<Cover> = allows.iter().map(|allow| Cover::of(survey, allow)).collect();
    let mut by_rule: HashMap<&str, Vec<usize>> = HashMap::new();
    for (index, allow) in allows.iter().enumerate() {
        by_rule.entry(&allow.rule).or_default().push(index);
    }
    let mentions = Mentions::of(survey);
    let mut used = vec![false; allows.len()];
    let mut kept: Vec<Finding> = Vec::new();
    for finding in findings {
        let of_rule = by_rule.get(finding.rule).map_or(&[][..], Vec::as_slice);
        let about = mentions.about(&finding);
        let covering = of_rule.iter().find(|&&index| covers[index].covers(&about));
        match covering {
            Some(&index) => used[index] = true,
            None => kept.push(finding),
        }
    }
    // A file that is not understood whole may lack the very finding that is allowed.
    let whole = survey.model.syntax.is_empty() && survey.model.problems.is_empty();
    for (allow, used) in allows.iter().zip(used) {
        kept.extend(complaint(allow, used || !whole));
    }
    kept
}

/// What one `allow` covers.
enum Cover {
    Nothing,
    All,
    /// These items, and what stands in these statements.
    Items(BTreeSet<Entity>, Option<Place>),
}

impl Cover {
    fn of(survey: &Survey, allow: &Allow) -> Cover {
        if allow.reason.trim().is_empty() {
            return Cover::Nothing;
        }
        let Some(item) = allow.on else { return Cover::All };
        let mut items = BTreeSet::from([item]);
        match item {
            Entity::Part(part) => items.extend(survey.points_of(part).iter().map(|&p| Entity::Point(p))),
            Entity::Connector(connector) => items.extend(survey.points_in(connector).map(Entity::Point)),
            // A splice, bar or ground point is a part and a point at once.
            Entity::Point(point) => {
                items.extend(survey.model.names.find_part(survey.point_name(point)).map(Entity::Part));
            }
            Entity::Output(_) => {}
        }
        // A pin has no statement of its own where no line speaks of it.
        let statement = match item {
            Entity::Point(point) if survey.model.names.find_part(survey.point_name(point)).is_none() => None,
            item => survey.model.declaration(item),
        };
        Cover::Items(items, statement)
    }

    fn covers(&self, about: &About) -> bool {
        match self {
            Cover::Nothing => false,
            Cover::All => true,
            Cover::Items(items, statement) => {
                about.items.iter().any(|item| items.contains(item))
                    || statement.is_some_and(|outer| about.places.iter().any(|&place| inside(outer, place)))
            }
        }
    }
}

fn inside(outer: Place, place: Place) -> bool {
    outer.file == place.file && outer.span.start <= place.span.start && place.span.end <= outer.span.end
}

/// What a finding speaks of: its own place and the others, and the items named there.
struct About {
    places: Vec<Place>,
    items: Vec<Entity>,
}

struct Mentions {
    by_place: HashMap<Place, Entity>,
}

impl Mentions {
    fn of(survey: &Survey) -> Mentions {
        if survey.model.allows.is_empty() {
            return Mentions { by_place: HashMap::new() };
        }
        Mentions { by_place: survey.model.all_mentions().map(|m| (m.place, m.entity)).collect() }
    }

    fn about(&self, finding: &Finding) -> About {
        let own = Place { file: finding.file, span: finding.span };
        let others = finding.related.iter().map(|r| Place { file: r.file, span: r.span });
        let places: Vec<Place> = std::iter::once(own).chain(others).collect();
        let items = places.iter().filter_map(|place| self.by_place.get(place).copied()).collect();
        About { places, items }
    }
}

fn complaint(allow: &Allow, used: bool) -> Option<Finding> {
    let finding = |rule, severity, place: Place, message: String, help: &str| Finding {
        rule,
        severity,
        message,
        file: place.file,
        span: place.span,
        help: Some(help.into()),
        related: Vec::new(),
        fix: None,
    };
    let id = &allow.rule;
    if !crate::rules().iter().any(|rule| rule.id == id) {
        let help = "`halfsplit explain` lists every rule";
        return Some(finding(
            "unknown-rule",
            Severity::Error,
            allow.rule_place,
            format!("no rule is called `{id}`"),
            help,
        ));
    }
    if allow.reason.trim().is_empty() {
        let message = format!("`{id}` is allowed here without a reason");
        let help = "say why the finding does not matter: `because \"…\"`";
        return Some(finding("allow-without-reason", Severity::Error, allow.rule_place, message, help));
    }
    if !used {
        let message = format!("`{id}` is allowed here, but nothing here breaks it");
        return Some(finding(
            "unused-allow",
            Severity::Warning,
            allow.rule_place,
            message,
            "leave this line out",
        ));
    }
    None
}
