fn main() {
    let path = std::env::args().nth(1).unwrap();
    for page in pageread::pages(&std::fs::read(&path).unwrap()).unwrap() {
        let flat = page.flattened();
        let d = pageread::line_distance(&flat).unwrap();
        let flat = flat.scaled(10.0 / d);
        println!("distance {d}");
        for s in pageread::staves(&flat) {
            println!(
                "{:.0}..{:.0} {:?}",
                s.left,
                s.right,
                s.along
                    .iter()
                    .map(|p| (p.0 as i32, (p.1 * 10.0) as i32, (p.2 * 10.0) as i32))
                    .collect::<Vec<_>>()
            );
        }
    }
}
