//! `no-such-cavity`.

use halfsplit_model::{Entity, ProblemKind};

use crate::{Rule, rule::Found, survey::Survey};

pub(super) const RULE: Rule = rule!("no-such-cavity", Error, File, check);

fn check(survey: &Survey, found: &mut Found) {
    for problem in &survey.model.problems {
        let ProblemKind::NoSuchCavity { connector, cavity, count, declared } = &problem.kind else {
            continue;
        };
        let cavities = match count {
            0 => "no cavities".to_owned(),
            1 => "one cavity".to_owned(),
            n => format!("{n} cavities"),
        };
        let named = survey.model.names.find_connector(connector);
        let declared = named.and_then(|id| survey.name_place(Entity::Connector(id))).unwrap_or(*declared);
        found
            .add(problem.place, format!("{connector} has {cavities}, and none is called `{cavity}`"))
            .with(declared, format!("{connector} is declared with {cavities}"))
            .help("count the cavities on the car, blank ones too, or mend the number");
    }
}
