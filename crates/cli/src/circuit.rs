//! Reading the circuit that a verb works on.

use std::path::Path;

use halfsplit_base::{Files, Severity};
use halfsplit_circuit::PointId;
use halfsplit_model::{Car, Model, NameError, lower_for};

use crate::{Failure, circuits};

/// Reads one circuit and lowers it for a car. Mistakes in it are told on standard error;
/// errors stop the verb, since a reading from a wrong circuit is worse than none.
///
/// # Errors
/// If the file cannot be read, a check finds an error in it, or the vehicle has no such option.
pub fn open(path: &Path, car: &Car) -> Result<Model, Failure> {
    let mut files = Files::default();
    let file = circuits::read(&mut files, path)?;
    let checked = halfsplit_check::check(&files, file);
    let errors: Vec<_> = checked.findings.iter().filter(|f| f.severity == Severity::Error).collect();
    match errors.as_slice() {
        [] => {
            let known: Vec<&str> =
                checked.model.vehicle.options.iter().map(|(name, _)| name.as_str()).collect();
            match car.options.keys().find(|option| !known.contains(&option.as_str())) {
                None if *car == Car::default() => Ok(checked.model),
                None => Ok(lower_for(&files, file, car)),
                Some(option) if known.is_empty() => {
                    Err(format!("the circuit's vehicle has no option `{option}`: it has none at all").into())
                }
                Some(option) => Err(format!(
                    "the circuit's vehicle has no option `{option}`; it has {}",
                    known.join(", ")
                )
                .into()),
            }
        }
        errors => {
            for finding in errors {
                eprintln!("{}", halfsplit_render::findings::plain(&files, finding));
            }
            let count = errors.len();
            let noun = if count == 1 { "error" } else { "errors" };
            Err(format!(
                "{}: {count} {noun}; mend the file first (`halfsplit check` shows each in full)",
                path.display()
            )
            .into())
        }
    }
}

/// The point that a pin on the command line stands for.
///
/// # Errors
/// If nothing or more than one thing answers to the name.
pub fn pin(model: &Model, written: &str) -> Result<PointId, Failure> {
    model.names.point(written).map_err(|error| {
        match error {
            NameError::Unknown { near: Some(near) } => {
                format!("no pin is called `{written}`; did you mean `{near}`?")
            }
            NameError::Unknown { near: None } => format!("no pin is called `{written}`"),
            NameError::Ambiguous { candidates } => {
                format!("`{written}` could be {}: write the whole name", candidates.join(" or "))
            }
        }
        .into()
    })
}
