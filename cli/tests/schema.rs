//! `schema`: every kind is printed, and an unknown one is a mistake that lists those that are known.

mod common;

use common::tubewright;
use snapbox::str;

#[test]
fn every_kind_is_a_schema_and_the_help_names_it() {
    let help = tubewright().args(["schema", "--help"]).output().expect("the command starts").stdout;
    let help = String::from_utf8(help).expect("help is text");
    let kinds: Vec<&str> = tubewright::file::kinds().chain(["card", "layout", "ends"]).collect();
    assert!(kinds.contains(&"job") && kinds.contains(&"plan"), "{kinds:?}");
    for kind in kinds {
        let printed = tubewright().args(["schema", kind]).assert().success().stderr_eq("").get_output().stdout.clone();
        let schema: serde_json::Value = serde_json::from_slice(&printed).expect("a schema is JSON");
        assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema", "{kind}");
        assert!(help.contains(kind), "{kind} is not in the help: {help}");
    }
}

#[test]
fn an_unknown_kind_is_a_mistake_with_the_list() {
    tubewright().args(["schema", "card game"]).assert().code(2).stdout_eq("").stderr_eq(str![[r#"
error: there is no kind `card game`
help: the kinds are: job, bender, bender-sizes, rules, test-bends, measured-part, survey, nodes, rows, plan, calibration, inspection, stock, survey-result, card, layout, ends

"#]]);
}

#[test]
fn a_schema_can_go_into_a_file() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let file = folder.path().join("job.schema.json");
    tubewright().args(["schema", "job", "--output"]).arg(&file).assert().success().stdout_eq("");
    assert_eq!(std::fs::read_to_string(&file).ok().as_deref(), tubewright::file::schema("job"));
    tubewright().args(["schema", "job", "--output"]).arg(&file).assert().code(2);
}
