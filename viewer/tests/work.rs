//! A job that is being worked on, without a window: what is typed, solved, taken back and saved.

mod common;

use common::{Shop, shown};
use tubewright::file::edit::At;
use tubewright::file::{Disk, load_job};
use tubewright::units::Length;
use tubewright_viewer::work::live::straights;
use tubewright_viewer::work::{Asked, Kind, NotWritten, State, Work, changes};

fn knee() -> At {
    At::top().key("nodes").key("knee-left").item(2)
}

#[test]
fn a_job_that_is_opened_has_the_plan_of_its_file() {
    for sample in ["hoop", "handle", "rack", "grab-handle", "pair", "brace"] {
        let shop = Shop::new(sample);
        let work = shop.work();
        assert_eq!(*work.state(), State::Solved, "{sample}");
        assert_eq!(shown(&work), shop.plan_of_the_file(None), "{sample}");
        assert!(!work.is_changed() && work.can_print());
    }
}

#[test]
fn what_is_typed_last_is_what_is_planned() {
    let shop = Shop::new("hoop");
    let mut work = shop.work();
    // Each asks for a plan before the one before it is there.
    for said in ["3", "31", "31 ", "31 1", "31 1/", "31 1/4"] {
        work.set(&knee(), said).unwrap();
    }
    assert_eq!(*work.state(), State::Solving);
    assert!(work.is_old() && !work.can_print());
    work.wait();
    work.save().unwrap();
    assert!(shop.text().contains("[2, -18, 31 1/4]"));
    assert_eq!(shown(&work), shop.plan_of_the_file(None));
    // Letters of one figure are one step back.
    work.undo();
    assert!(!work.can_undo() && work.can_redo());
    assert!(work.text().contains("30-1/2"));
}

/// A slow picture sees several letters at once: the first change of a figure may be to what it is already.
#[test]
fn a_figure_typed_over_itself_does_not_join_the_step_before() {
    let shop = Shop::new("hoop");
    let mut work = shop.work();
    work.set(&knee(), "31 1/4").unwrap();
    work.pause();
    for said in ["31 1/4", "31 1/4 ", "31 1/4 5"] {
        work.set(&knee(), said).unwrap();
    }
    work.undo();
    assert!(work.text().contains("[2, -18, 31 1/4]"));
    work.undo();
    assert!(work.text().contains("30-1/2") && !work.can_undo());
}

#[test]
fn a_wrong_figure_is_told_as_on_the_command_line_and_leaves_the_old_plan() {
    let shop = Shop::new("hoop");
    let mut work = shop.work();
    let before = shown(&work);
    work.set(&knee(), "30 5/4").unwrap();
    assert!(matches!(work.state(), State::Stale(_)));
    assert!(!work.can_print() && Kind::ALL.iter().all(|kind| work.paper(*kind).is_err()));
    assert_eq!(shown(&work), before);
    let here = work.mistakes_at(&knee());
    assert_eq!(here.len(), 1);
    std::fs::write(shop.job(), work.text()).unwrap();
    let told = load_job(&Disk, shop.job()).unwrap_err();
    assert_eq!(told.list[0].message, here[0].message);
    assert_eq!(told.list[0].help, here[0].help);
    assert_eq!(told.list.len(), work.mistakes().len());
    work.undo();
    work.wait();
    assert!(work.can_print() && work.mistakes().is_empty());
}

#[test]
fn a_job_with_mistakes_can_be_opened_and_put_right() {
    let shop = Shop::new("hoop");
    std::fs::write(shop.job(), shop.text().replace("30-1/2", "30 5/4")).unwrap();
    let mut work = shop.work();
    assert!(work.plan().is_none() && work.mistakes().len() == 1);
    work.set(&knee(), "30-1/2").unwrap();
    work.wait();
    assert_eq!(*work.state(), State::Solved);
}

#[test]
fn what_is_no_job_at_all_is_refused_in_the_words_of_its_reader() {
    let shop = Shop::with("tubes: [1\n");
    let refused = Work::open(shop.job(), Asked::default()).unwrap_err();
    assert_eq!(refused.list[0].code, "not-yaml");
    let refused = Work::open(&shop.job().with_file_name("none.yaml"), Asked::default()).unwrap_err();
    assert_eq!(refused.list[0].code, "file-missing");
    assert_eq!(load_job(&Disk, &shop.job().with_file_name("none.yaml")).unwrap_err().list, refused.list);
}

#[test]
fn a_file_that_changed_outside_is_not_written_over() {
    let shop = Shop::new("hoop");
    let mut work = shop.work();
    work.set(&knee(), "31").unwrap();
    assert_eq!(work.look_outside(), None);
    let other = format!("{}# by another hand\n", shop.text());
    std::fs::write(shop.job(), &other).unwrap();
    assert_eq!(work.look_outside(), Some(shop.job()));
    assert!(matches!(work.save(), Err(NotWritten::ChangedOutside(_))));
    assert_eq!(shop.text(), other);
    work.reload().unwrap();
    assert_eq!(work.text(), other);
    assert!(!work.is_changed() && work.look_outside().is_none());
    // What was typed is not lost.
    work.undo();
    assert!(work.text().contains("[2, -18, 31]") && work.is_changed());
    work.save().unwrap();
    assert!(shop.text().contains("[2, -18, 31]"));
}

#[test]
fn a_bender_that_changed_outside_is_noticed_and_read_again() {
    let shop = Shop::new("hoop");
    let mut work = shop.work();
    work.set(&knee(), "31").unwrap();
    let bender = shop.bender("floor-bender.yaml");
    let text = std::fs::read_to_string(&bender).unwrap();
    std::fs::write(&bender, text.replace("constant: 1.1, proportional: 0.02 }", "constant: 2.5, proportional: 0.02 }"))
        .unwrap();
    let noticed = work.look_outside().unwrap();
    assert!(noticed.ends_with("floor-bender.yaml"));
    let before = work.plan().unwrap().tubes[0].steps[0].die_angle;
    work.reload().unwrap();
    work.wait();
    // The text stays, the springback is the new one.
    assert!(work.text().contains("[2, -18, 31]"));
    assert!((work.plan().unwrap().tubes[0].steps[0].die_angle - before).to_deg() > 1.0);
}

#[test]
fn a_new_name_is_written_once_and_into_the_same_folder() {
    let shop = Shop::new("hoop");
    let mut work = shop.work();
    work.set(&knee(), "31").unwrap();
    let original = shop.text();
    for name in ["../x", "/x", "", "a/b", "."] {
        assert!(matches!(work.save_as(name), Err(NotWritten::NoName(_))), "{name}");
    }
    assert!(matches!(work.save_as("hoop"), Err(NotWritten::IsThere(_))));
    work.save_as(" wide hoop ").unwrap();
    assert_eq!(work.name(), "wide hoop.yaml");
    assert_eq!(shop.names(), ["hoop.yaml", "wide hoop.yaml"]);
    assert_eq!(shop.text(), original);
    assert!(!work.is_changed());
    work.set(&knee(), "32").unwrap();
    work.save().unwrap();
    assert!(std::fs::read_to_string(work.path()).unwrap().contains("[2, -18, 32]"));
}

#[test]
fn what_cannot_be_changed_in_place_is_only_written_under_another_name() {
    let text = Shop::new("hoop").text();
    let shop = Shop::with(&text.replace("30-1/2]", "&high 30-1/2]").replace("{ a: 1/2", "{ a: *high"));
    let mut work = shop.work();
    work.set(&knee(), "31").unwrap();
    assert!(work.is_anew());
    assert!(matches!(work.save(), Err(NotWritten::Anew)));
    work.wait();
    let changed = shown(&work);
    work.save_as("anew").unwrap();
    work.wait();
    assert!(!work.is_anew());
    // The fingerprint is that of the same bytes.
    assert_eq!(shown(&work), changed);
    assert!(std::fs::read_to_string(work.path()).unwrap().contains("30-1/2"), "the other use keeps its length");
}

#[test]
fn an_order_by_hand_is_that_of_the_command_line() {
    let shop = Shop::new("rail");
    let mut work = shop.work();
    work.set_order("rail", Some("5B 4B 3B 2B 1B"));
    work.wait();
    assert_eq!(shown(&work), shop.plan_of_the_file(Some(("rail", "5B 4B 3B 2B 1B"))));
    work.set_order("rail", Some("5B 4B"));
    work.wait();
    assert!(matches!(work.state(), State::Stale(_)));
    work.undo();
    work.undo();
    work.wait();
    assert_eq!(work.order("rail"), None);
    assert_eq!(shown(&work), shop.plan_of_the_file(None));
}

#[test]
fn a_corner_more_changes_nothing_until_it_is_moved() {
    for sample in ["hoop", "rail", "pair", "handle", "rack", "grab-handle"] {
        let shop = Shop::new(sample);
        let mut work = shop.work();
        let before = work.plan().unwrap().tubes[0].clone();
        let outline = work.outline();
        let job = work.job().unwrap();
        let edits = changes::node_after(&outline, job, 0, 1)
            .or_else(|| changes::bend_in(&outline.tubes[0], 1, job.units))
            .unwrap_or_else(|| panic!("{sample}"));
        work.edit(&edits).unwrap();
        work.wait();
        assert!(!work.is_anew(), "{sample}");
        let after = &work.plan().unwrap_or_else(|| panic!("{sample}")).tubes[0];
        assert_eq!(*work.state(), State::Solved, "{sample}: {:?}", work.mistakes());
        assert!((after.blank.cut_length - before.blank.cut_length).abs() < Length::mm(2e-3), "{sample}");
        assert_eq!(after.steps.len(), before.steps.len(), "{sample}");
        // Taken out again the same is left.
        let outline = work.outline();
        let edits = changes::node_out(&outline.tubes[0], 2)
            .or_else(|| changes::bend_out(&outline.tubes[0], 1, work.job().unwrap().units))
            .unwrap();
        work.edit(&edits).unwrap();
        work.wait();
        let after = &work.plan().unwrap().tubes[0];
        assert!((after.blank.cut_length - before.blank.cut_length).abs() < Length::mm(2e-3), "{sample}");
    }
}

#[test]
fn another_die_is_that_tube_s_own() {
    let shop = Shop::new("impossible");
    let mut work = shop.work();
    let outline = work.outline();
    work.edit(&changes::die(&outline.tubes[0], "four-and-a-half-inch")).unwrap();
    work.wait();
    let dies: Vec<_> = work.plan().unwrap().tubes.iter().map(|tube| tube.die.clone().unwrap()).collect();
    assert_eq!(dies[0], "four-and-a-half-inch");
    assert_eq!(dies[1], "five-inch");
    let outline = work.outline();
    work.edit(&changes::die(&outline.tubes[0], "five-inch")).unwrap();
    assert_eq!(work.job().unwrap().tubes[0].dies, work.job().unwrap().tubes[1].dies);
}

#[test]
fn straights_are_those_of_the_shape_and_say_what_is_missing() {
    let shop = Shop::new("impossible");
    let work = shop.work();
    // 40 mm between two bends of 50 degrees; the clamp needs 70.
    let step = straights(work.job().unwrap(), 0);
    assert_eq!(step.len(), 3);
    assert!((step[1].left - Length::mm(40.0)).abs() < Length::mm(1e-9));
    assert!((step[1].missing().unwrap() - Length::mm(30.0)).abs() < Length::mm(1e-9));
    assert!(step[0].missing().is_none() && step[2].missing().is_none());
    assert_eq!(step[1].words(&work.people()), "straight 40 mm: 30.0 mm missing for clamp or follower");
    // 60 mm at the ends: 45 are gripped.
    let shop = Shop::new("grab-handle");
    let work = shop.work();
    assert!(straights(work.job().unwrap(), 0).iter().all(|straight| straight.missing().is_none()));
}

#[test]
fn paper_is_that_of_the_command_line_and_never_takes_the_place_of_another_unasked() {
    let shop = Shop::new("hoop");
    let work = shop.work();
    for (kind, name) in [(Kind::CardText, "hoop.card.txt"), (Kind::Chalk, "hoop.layout.txt")] {
        let path = work.write_paper(kind, false).unwrap();
        assert!(path.ends_with(format!("jobs/{name}")));
        let expected = format!("{}/../samples/expected/{name}", env!("CARGO_MANIFEST_DIR"));
        let written = std::fs::read_to_string(&path).unwrap();
        assert_eq!(written, std::fs::read_to_string(expected).unwrap());
        std::fs::write(&path, "mine").unwrap();
        assert!(matches!(work.write_paper(kind, false), Err(NotWritten::IsThere(_))));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "mine");
        work.write_paper(kind, true).unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), written);
    }
    // Pages are the same bytes whenever they are made.
    for kind in [Kind::Card, Kind::Layout] {
        let pages = std::fs::read(work.write_paper(kind, false).unwrap()).unwrap();
        assert!(pages.starts_with(b"%PDF-"));
        assert_eq!(pages, shop.work().paper(kind).unwrap());
    }
    let names = ["hoop.card.pdf", "hoop.card.txt", "hoop.layout.pdf", "hoop.layout.txt", "hoop.yaml"];
    assert_eq!(shop.names(), names);
}
