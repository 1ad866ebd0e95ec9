//! `whereas carry`: an amendment carried to another edition.

use super::Ended;
use super::args::CarryArguments;
use super::outlet::Outlet;
use crate::carry;

pub(super) fn run(arguments: &CarryArguments, outlet: &mut Outlet) -> Ended {
    let Some(mut session) = outlet.session(&arguments.rules) else { return Ended::Failed };
    if !outlet.add_rulebooks(&mut session, arguments.files.iter().map(std::path::PathBuf::as_path)) {
        return Ended::Failed;
    }
    let (carried, diagnostics) = session.carry(&arguments.amendment, &arguments.to);
    outlet.complain(&diagnostics, &session);
    let Some(carried) = carried.filter(|_| !diagnostics.has_errors()) else { return Ended::Failed };
    if let Some(file) = &arguments.out
        && !outlet.write_new(file, &carried.draft)
    {
        return Ended::Failed;
    }
    if arguments.json {
        match serde_json::to_string_pretty(&carried) {
            Ok(text) => outlet.print(&format!("{text}\n")),
            Err(error) => {
                outlet.fail(&format!("cannot write JSON: {error}"));
                return Ended::Failed;
            }
        }
    } else if arguments.draft {
        outlet.print(&carried.draft);
    } else {
        let look = outlet.out_look();
        outlet.print(&carry::text(&carried, &look));
        match &arguments.out {
            Some(file) => outlet.print(&format!("\nThe draft is in {}.\n", file.display())),
            None => outlet.print(&format!("\nThe draft (--out FILE writes it):\n\n{}", carried.draft)),
        }
    }
    if carried.settled() { Ended::Well } else { Ended::Open }
}
