//! `whereas review`: findings beyond mistakes.

use super::Ended;
use super::args::ReviewArguments;
use super::outlet::Outlet;

pub(super) fn run(arguments: &ReviewArguments, outlet: &mut Outlet) -> Ended {
    let Some(mut session) = outlet.session_with_examples(&arguments.rules) else { return Ended::Failed };
    if !outlet.add_rulebooks(&mut session, arguments.files.iter().map(std::path::PathBuf::as_path)) {
        return Ended::Failed;
    }
    let (review, diagnostics) = session.review(&arguments.under);
    outlet.complain(&diagnostics, &session);
    if diagnostics.has_errors() {
        return Ended::Failed;
    }
    if review.books.is_empty() {
        outlet.fail("there is no edition to review");
        return Ended::Failed;
    }
    if arguments.json {
        outlet.print(&format!("{:#}\n", review.json(session.sources())));
    } else {
        let look = outlet.out_look();
        outlet.print(&review.text(session.sources(), &look));
    }
    if review.findings.is_empty() { Ended::Well } else { Ended::NotMet }
}
