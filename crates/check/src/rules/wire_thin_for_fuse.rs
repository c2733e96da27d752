//! `wire-thin-for-fuse`.

use crate::{
    Rule,
    protect::{Thin, behind_fuses},
    rule::Found,
    survey::Survey,
};

use super::fuse_too_large::{is_far, report, thinnest};

pub(super) const RULE: Rule = rule!("wire-thin-for-fuse", Warning, Circuit, check);

fn check(survey: &Survey, found: &mut Found) {
    for behind in behind_fuses(survey) {
        let near: Vec<&Thin> = behind.thin.iter().collect();
        // Where one wire is far too thin, that is the finding.
        if near.iter().any(|thin| is_far(&behind, thin)) {
            continue;
        }
        if let Some(thinnest) = thinnest(&near) {
            report(survey, found, &behind, thinnest, near.len(), " without end");
        }
    }
}
