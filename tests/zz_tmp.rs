use whereas::*;
#[test]
fn tmp() {
    let mut s = base::source::Sources::default();
    let text = std::fs::read_to_string("/tmp/t.rulebook").unwrap();
    let id = s.add("t", text.clone());
    let (p, mut d) = syntax::parse_rulebook(id, &text);
    let (program, d2) = sema::lower(&s, &[(id, &p.tree)], "demo", "2017");
    d.extend(d2);
    println!("{}", diag::render(&d, &s, &diag::Look::default()));
    for du in &program.duties { println!("{} {:?} {:?} {}", du.address, du.force, du.readings, program.test_origin(du.asks).words); }
    println!("{:?}", program.kinds.iter().map(|k| (&k.name, &k.readings)).collect::<Vec<_>>());
    println!("tests {} exprs {}", program.tests.len(), program.exprs.len());
}
