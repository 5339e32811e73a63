//! The inputs of the fuzz targets, replayed on the stable compiler: nothing panics, and what holds for every input holds.

#![expect(clippy::print_stdout, reason = "each input is shown where its test fails, and only there")]

#[path = "../fuzz/inputs.rs"]
mod inputs;

fn replay(target: &str, run: fn(&[u8])) {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/corpus").join(target);
    let entries = std::fs::read_dir(&folder).expect("each target has a corpus");
    let mut files: Vec<_> = entries.map(|entry| entry.expect("it can be listed").path()).collect();
    files.sort();
    assert!(!files.is_empty());
    for file in files {
        let data = std::fs::read(&file).expect("it can be read");
        println!("{}", file.display());
        run(&data);
    }
}

#[test]
fn lengths_of_the_corpus() {
    replay("length", inputs::length);
}

#[test]
fn jobs_of_the_corpus() {
    replay("job", inputs::job);
}

#[test]
fn benders_of_the_corpus() {
    replay("bender", inputs::bender);
}

#[test]
fn meshes_of_the_corpus() {
    replay("mesh", inputs::mesh);
}

#[test]
fn tables_of_the_corpus() {
    replay("csv", inputs::csv);
}

#[test]
fn whole_plans_of_the_corpus() {
    replay("plan", inputs::plan);
}

#[test]
fn records_of_test_bends_of_the_corpus() {
    replay("record", inputs::record);
}

#[test]
fn surveys_of_the_corpus() {
    replay("survey", inputs::survey);
}

#[test]
fn sizes_of_benders_of_the_corpus() {
    replay("sizes", inputs::sizes);
}
