//! The registry: every rule, one line each.

use crate::Rule;

/// Declares the modules of the rules that look at a circuit and lists all rules.
macro_rules! registry {
    (
        circuit { $($module:ident)* }
        parser { $($id:literal)* }
    ) => {
        $(mod $module;)*

        const RULES: &[Rule] = &[
            $($module::RULE,)*
            $(Rule {
                id: $id,
                severity: halfsplit_base::Severity::Error,
                page: include_str!(concat!($id, ".md")),
                check: None,
            },)*
        ];
    };
}

registry! {
    circuit {
        unknown_name
    }
    parser {
    }
}

/// Every rule, in the order of the registry.
pub fn rules() -> &'static [Rule] {
    RULES
}
