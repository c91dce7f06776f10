fn main() {
    for path in std::env::args().skip(1) {
        let t = std::time::Instant::now();
        for page in pageread::pages(&std::fs::read(&path).unwrap()).unwrap() {
            let t1 = t.elapsed();
            let crops = pageread::systems(&page);
            println!(
                "{path} {}x{} read {t1:?} staves {:?}",
                page.width,
                page.height,
                t.elapsed()
            );
            let widest = crops.iter().map(|c| c.grey.width).max().unwrap_or(64);
            let reader = pageread::Reader::for_width(widest).unwrap();
            println!("plan {:?} {widest}", t.elapsed());
            for (k, c) in crops.iter().enumerate() {
                let seen = reader.read(c).unwrap();
                println!(
                    "{k}: left {:.0} width {} scale {:.3} y {:?} signs {} at {:?}",
                    c.left,
                    c.grey.width,
                    c.scale,
                    c.middle,
                    seen.signs.len(),
                    t.elapsed()
                );
                if std::env::var("ROADS").is_ok() {
                    for r in seen.roads.iter().chain(&seen.dynamics) {
                        print!("{}@{:.0}({:.2}) ", r.name, r.x, r.sure);
                    }
                    println!();
                    for s in &seen.signs {
                        print!("{:?}@{:.0}({:.2}) ", s.main, s.x, s.sure());
                    }
                    println!();
                }
                if std::env::var("PGM").is_ok() {
                    let mut out = format!("P5 {} {} 255\n", c.grey.width, c.grey.height).into_bytes();
                    out.extend(c.grey.ink.iter().map(|i| (255.0 - i * 255.0) as u8));
                    std::fs::write(format!("/tmp/foreread/paper/crop{k}.pgm"), out).unwrap();
                }
            }
        }
    }
}
