//! `whereas why`: pages of diagnostics.

use super::Ended;
use super::args::WhyArguments;
use super::outlet::Outlet;
use crate::diag::{Code, nearest};

pub(super) fn run(arguments: &WhyArguments, outlet: &mut Outlet) -> Ended {
    let Some(wanted) = &arguments.code else {
        let mut text = String::new();
        for code in Code::all() {
            text.push_str(&format!("{}  {}\n", code.as_str(), code.meaning()));
        }
        outlet.print(&text);
        return Ended::Well;
    };
    match Code::parse(wanted) {
        Some(code) => {
            outlet.print(code.page());
            Ended::Well
        }
        None => {
            let near = nearest(&wanted.to_uppercase(), Code::all().iter().map(|c| c.as_str()));
            match near {
                Some(near) => outlet.fail(&format!("there is no code `{wanted}`; did you mean {near}?")),
                None => outlet.fail(&format!("there is no code `{wanted}`; `whereas why` lists all")),
            }
            Ended::Failed
        }
    }
}
