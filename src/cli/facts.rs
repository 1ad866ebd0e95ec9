//! `whereas facts`: what can be asked for, as text, as a form and as JSON Schema.

use super::Ended;
use super::args::FactsArguments;
use super::outlet::Outlet;
use crate::diag::nearest;
use crate::facts;

pub(super) fn run(arguments: FactsArguments, outlet: &mut Outlet) -> Ended {
    let Some(session) = outlet.session(&arguments.rules) else { return Ended::Failed };
    let (schema, diagnostics) = session.vocabulary(&arguments.family);
    outlet.complain(&diagnostics, &session);
    if diagnostics.has_errors() {
        return Ended::Failed;
    }
    let thing = match &arguments.thing {
        None => None,
        Some(name) => match schema.thing_named(name) {
            Some(thing) => Some(thing),
            None => {
                let known: Vec<&str> = schema.things.iter().map(|t| t.name.as_str()).collect();
                match nearest(name, known.iter().copied()) {
                    Some(near) => outlet.fail(&format!("there is no thing `{name}`; did you mean `{near}`?")),
                    None => outlet.fail(&format!("there is no thing `{name}`; things: {}", known.join(", "))),
                }
                return Ended::Failed;
            }
        },
    };
    let text = if arguments.form {
        facts::form(&schema, thing)
    } else if arguments.json_schema {
        format!("{:#}\n", facts::json_schema(&schema, thing))
    } else {
        facts::describe(&schema, thing)
    };
    outlet.print(&text);
    Ended::Well
}
