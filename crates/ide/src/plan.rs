//! The isolation plan of a pin, as a file.

use std::path::Path;

use halfsplit_circuit::{Key, State};
use halfsplit_model::Model;
use halfsplit_plan::Request;
use halfsplit_render::{page, plan as sheet};

use crate::NewFile;

/// The plan for a pin that reads wrong with the key in run, beside the circuit's file.
pub(crate) fn plan(circuit: &Path, model: &Model, pin: &str) -> Result<NewFile, String> {
    let point = model.names.point(pin).map_err(|_| format!("nothing is called {pin} any more"))?;
    let request = Request::new(point, State::with_key(Key::Run));
    let plan = halfsplit_plan::plan(&model.circuit, &request).map_err(|error| error.to_string())?;
    let stem = circuit.file_stem().unwrap_or_default().to_string_lossy();
    // Neither a colon nor a slash may stand in a file's name everywhere.
    let name = format!("{stem}.{}.plan.md", pin.replace([':', '/', '\\'], "-"));
    let heading = sheet::Heading {
        circuit: model.title.clone(),
        vehicle: model.vehicle.name.clone(),
        proven: model.proven(),
        doubts: None,
    };
    let text = page::markdown(&sheet::page(&plan, &heading));
    Ok(NewFile { path: circuit.with_file_name(name), text })
}
