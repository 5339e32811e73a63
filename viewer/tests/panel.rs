//! The panel as a person uses it: clicked and typed into, without a display.

mod common;
mod desk;

use common::{Shop, shown};
use desk::{Desk, click, says, settle, type_into};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use kiss3d::egui::{Key, Modifiers};
use tubewright::units::Angle;
use tubewright_viewer::view::{Eye, Picked, Scene};
use tubewright_viewer::work::{Kind, State};

#[test]
fn typing_a_coordinate_changes_the_plan_as_by_hand() {
    let shop = Shop::new("hoop");
    let mut harness = Desk::of(&shop);
    let before = shown(&harness.state().work);
    click(&mut harness, "knee-left:");
    type_into(&mut harness, "z of knee-left", "31 1/4");
    // The blank on the way to the fraction is not lost.
    assert_eq!(harness.get_by_label("z of knee-left").value().as_deref(), Some("31 1/4"));
    settle(&mut harness);
    assert_ne!(shown(&harness.state().work), before);
    let by_hand = shop.text().replace("30-1/2", "31 1/4");
    assert_eq!(harness.state().work.text(), by_hand);
    std::fs::write(shop.job(), by_hand).unwrap();
    assert_eq!(shown(&harness.state().work), shop.plan_of_the_file(None));
    assert!(says(&harness, "CAN BE BENT"));
}

#[test]
fn a_wrong_length_stands_beside_its_field_and_the_plan_is_old() {
    let shop = Shop::new("hoop");
    let mut harness = Desk::of(&shop);
    click(&mut harness, "knee-left:");
    assert!(!says(&harness, "OLD"));
    type_into(&mut harness, "y of knee-left", "-18 5/4");
    assert!(matches!(harness.state().work.state(), State::Stale(_)));
    let message = harness.state().work.mistakes()[0].message.clone();
    // Once at the head, once beside the field.
    assert!(harness.query_all_by_label_contains(&message).count() >= 2, "{message}");
    assert!(says(&harness, "OLD: Steps") && says(&harness, "OLD. What is shown"));
    assert!(harness.get_by_label("Card").accesskit_node().is_disabled());
    type_into(&mut harness, "y of knee-left", "-18");
    settle(&mut harness);
    assert!(!says(&harness, "OLD"));
    assert!(!harness.get_by_label("Card").accesskit_node().is_disabled());
}

#[test]
fn a_node_and_its_mirror_image_can_be_open_at_once() {
    let shop = Shop::new("hoop");
    let mut harness = Desk::of(&shop);
    click(&mut harness, "knee-left:");
    click(&mut harness, "knee-right: mirror of knee-left");
    let fields: Vec<_> = harness.get_all_by_label("z of knee-left").collect();
    assert_eq!(fields.len(), 2);
    fields[1].focus();
    harness.run_steps(3);
    harness.key_press(Key::End);
    harness.event(kiss3d::egui::Event::Text("4".to_owned()));
    harness.run_steps(3);
    assert!(harness.state().work.text().contains("[2, -18, 30-1/24]"));
    let said = |field: &egui_kittest::Node<'_>| field.value();
    let fields: Vec<_> = harness.get_all_by_label("z of knee-left").map(|field| said(&field)).collect();
    assert_eq!(fields, [Some("30-1/24".to_owned()), Some("30-1/24".to_owned())]);
}

#[test]
fn keys_go_from_step_to_step_and_play() {
    let shop = Shop::new("hoop");
    let mut harness = Desk::of(&shop);
    harness.key_press(Key::ArrowRight);
    harness.run_steps(3);
    assert_eq!(harness.state().view.step, 1);
    harness.key_press(Key::ArrowRight);
    harness.run_steps(3);
    assert_eq!(harness.state().view.step, 1, "there are two");
    harness.key_press(Key::Space);
    harness.run_steps(3);
    let Desk { work, view } = harness.state_mut();
    assert!(view.playing);
    view.advance(0.5, work.plan().unwrap());
    assert!((view.die_angle - Angle::deg(15.0)).abs() < Angle::deg(1e-9));
    view.advance(100.0, work.plan().unwrap());
    assert!(!view.playing);
    assert_eq!(view.die_angle, work.plan().unwrap().tubes[0].steps[1].die_angle);
    harness.key_press(Key::ArrowLeft);
    harness.run_steps(3);
    assert_eq!(harness.state().view.step, 0);
    assert_eq!(harness.state().view.die_angle, Angle::ZERO);
    click(&mut harness, "Play");
    assert!(harness.state().view.playing);
    click(&mut harness, "Hold");
    click(&mut harness, "Step 2, bend");
    assert_eq!(harness.state().view.step, 1);
}

#[test]
fn keys_that_are_typed_into_a_field_move_no_step() {
    let shop = Shop::new("hoop");
    let mut harness = Desk::of(&shop);
    click(&mut harness, "knee-left:");
    harness.get_by_label("x of knee-left").focus();
    harness.run_steps(3);
    for key in [Key::ArrowRight, Key::ArrowLeft, Key::Space] {
        harness.key_press(key);
        harness.run_steps(3);
    }
    assert_eq!(harness.state().view.step, 0);
    assert!(!harness.state().view.playing);
}

#[test]
fn undo_redo_and_save_work_by_keys_while_a_field_has_the_focus() {
    let shop = Shop::new("hoop");
    let original = shop.text();
    let mut harness = Desk::of(&shop);
    click(&mut harness, "knee-left:");
    type_into(&mut harness, "z of knee-left", "32");
    let changed = harness.state().work.text().to_owned();
    assert_ne!(changed, original);
    harness.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    harness.run_steps(3);
    assert_eq!(harness.state().work.text(), original);
    assert_eq!(harness.get_by_label("z of knee-left").value().as_deref(), Some("30-1/2"));
    harness.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    harness.run_steps(3);
    assert_eq!(harness.state().work.text(), changed);
    assert!(says(&harness, "changed, not saved"));
    harness.key_press_modifiers(Modifiers::COMMAND, Key::S);
    harness.run_steps(3);
    assert_eq!(shop.text(), changed);
    assert!(!says(&harness, "changed, not saved") && says(&harness, "hoop.yaml is saved."));
}

#[test]
fn a_change_outside_is_offered_for_reading() {
    let shop = Shop::new("hoop");
    let mut harness = Desk::of(&shop);
    let other = shop.text().replace("30-1/2", "29");
    std::fs::write(shop.job(), &other).unwrap();
    // It is looked for every few seconds.
    harness.run_steps(12);
    assert!(says(&harness, "hoop.yaml was changed by someone else."));
    click(&mut harness, "Read it again");
    settle(&mut harness);
    assert_eq!(harness.state().work.text(), other);
    assert_eq!(shown(&harness.state().work), shop.plan_of_the_file(None));
    assert!(!says(&harness, "was changed by someone else"));
}

#[test]
fn the_other_end_leads_when_asked() {
    let shop = Shop::new("hoop");
    let mut harness = Desk::of(&shop);
    let order = |harness: &egui_kittest::Harness<'_, Desk>| {
        let steps = &harness.state().work.plan().unwrap().tubes[0].steps;
        steps.iter().map(|step| format!("{}{}", step.bend.number(), step.lead.letter())).collect::<Vec<_>>().join(" ")
    };
    let before = order(&harness);
    click(&mut harness, "Later");
    settle(&mut harness);
    let after = order(&harness);
    let (one, two) = before.split_once(' ').unwrap();
    assert_eq!(after, format!("{two} {one}"));
    assert_eq!(shown(&harness.state().work), shop.plan_of_the_file(Some(("hoop", &after))));
    click(&mut harness, "Other end leads");
    settle(&mut harness);
    let other = order(&harness);
    assert_ne!(other, after);
    click(&mut harness, "Order ");
    type_into(&mut harness, "order of the bends", "1A 2A");
    settle(&mut harness);
    assert_eq!(order(&harness), "1A 2A");
    type_into(&mut harness, "order of the bends", "1A 3A");
    assert!(says(&harness, "3"));
    assert_eq!(order(&harness), "1A 2A", "what cannot be read is not asked for");
    click(&mut harness, "Let it be worked out");
    settle(&mut harness);
    assert_eq!(order(&harness), before);
}

#[test]
fn a_picked_node_opens() {
    let shop = Shop::new("rail");
    let mut harness = Desk::of(&shop);
    assert!(harness.query_by_label("x of sill").is_none());
    harness.state_mut().view.picked = Some(Picked { tube: 0, node: 3 });
    harness.run_steps(3);
    assert!(harness.query_by_label("x of sill").is_some());
    click(&mut harness, "sill:");
    assert!(harness.query_by_label("x of sill").is_none(), "it can be closed again");
}

#[test]
fn legs_and_rows_are_typed_too() {
    let shop = Shop::new("handle");
    let mut harness = Desk::of(&shop);
    click(&mut harness, "Leg 2:");
    type_into(&mut harness, "length of leg 2", "1' 3\"");
    click(&mut harness, "Bend 1:");
    type_into(&mut harness, "angle between the legs of bend 1", "110");
    settle(&mut harness);
    let by_hand = shop.text().replace("[38, 14,", "[38, 1' 3\",").replace("included: 120", "included: 110");
    assert_eq!(harness.state().work.text(), by_hand);
    std::fs::write(shop.job(), by_hand).unwrap();
    assert_eq!(shown(&harness.state().work), shop.plan_of_the_file(None));

    let shop = Shop::new("rack");
    let mut harness = Desk::of(&shop);
    click(&mut harness, "hanger");
    click(&mut harness, "Bend 2:");
    type_into(&mut harness, "straight of row 2", "300 mm");
    type_into(&mut harness, "rotation of row 2", "90");
    settle(&mut harness);
    let by_hand = shop.text().replace("length: 28, rotation: 180", "length: 300 mm, rotation: 90");
    assert_eq!(harness.state().work.text(), by_hand);
    std::fs::write(shop.job(), by_hand).unwrap();
    assert_eq!(shown(&harness.state().work), shop.plan_of_the_file(None));
}

#[test]
fn a_corner_more_and_another_die() {
    let shop = Shop::new("rail");
    let mut harness = Desk::of(&shop);
    click(&mut harness, "seat-back:");
    click(&mut harness, "A corner more after it");
    settle(&mut harness);
    let text = harness.state().work.text().to_owned();
    assert!(text.contains("  corner-1: [1300, 420, 280]\n  shelf:"), "{text}");
    assert!(text.contains("path: [tail, shelf, seat-back, corner-1, sill,"), "{text}");
    click(&mut harness, "corner-1:");
    type_into(&mut harness, "z of corner-1", "300");
    settle(&mut harness);
    assert_eq!(harness.state().work.plan().unwrap().tubes[0].centreline.rows.bends.len(), 6);
    click(&mut harness, "Die:");
    click(&mut harness, "four-and-a-half-inch");
    settle(&mut harness);
    assert_eq!(harness.state().work.plan().unwrap().tubes[0].die.as_deref(), Some("four-and-a-half-inch"));
}

#[test]
fn the_eye_and_the_scene_are_asked_for_by_name() {
    let shop = Shop::new("hoop");
    let mut harness = Desk::of(&shop);
    for (label, eye) in
        [("Operator", Eye::Operator), ("Front", Eye::Front), ("Top", Eye::Top), ("Side", Eye::Side), ("Fit", Eye::Fit)]
    {
        harness.get_by_label(label).click();
        harness.run_steps(3);
        assert_eq!(harness.state_mut().view.eye.take(), Some(eye));
    }
    for (key, eye) in [(Key::F, Eye::Fit), (Key::O, Eye::Operator), (Key::T, Eye::Top)] {
        harness.key_press(key);
        harness.run_steps(3);
        assert_eq!(harness.state_mut().view.eye.take(), Some(eye));
    }
    click(&mut harness, "Finished");
    assert_eq!(harness.state().view.scene, Scene::Tubes);
}

#[test]
fn a_card_that_is_there_is_replaced_when_asked_twice() {
    let shop = Shop::new("hoop");
    let mut harness = Desk::of(&shop);
    harness.get_by_label("Card").click();
    harness.run_steps(3);
    assert!(says(&harness, "Written: "));
    let path = harness.state().work.paper_path(Kind::Card);
    std::fs::write(&path, "mine").unwrap();
    harness.get_by_label("Card").click();
    harness.run_steps(3);
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "mine");
    click(&mut harness, "Replace Card");
    assert_eq!(std::fs::read(&path).unwrap(), harness.state().work.paper(Kind::Card).unwrap());
    click(&mut harness, "Layout");
    assert!(harness.state().work.paper_path(Kind::Layout).exists());
}

#[test]
fn a_new_name_is_typed_in_its_place() {
    let shop = Shop::new("hoop");
    let mut harness = Desk::of(&shop);
    click(&mut harness, "Save as");
    type_into(&mut harness, "name of the new file", "hoop");
    click(&mut harness, "Write it");
    assert!(says(&harness, "is there already"));
    type_into(&mut harness, "name of the new file", "second");
    click(&mut harness, "Write it");
    assert_eq!(shop.names(), ["hoop.yaml", "second.yaml"]);
    assert_eq!(harness.state().work.name(), "second.yaml");
}

#[test]
fn what_cannot_be_bent_says_so_first() {
    let shop = Shop::new("impossible");
    let mut harness = Desk::of(&shop);
    assert!(says(&harness, "CANNOT BE BENT as asked") && says(&harness, "DO NOT CUT"));
    click(&mut harness, "Bend 2:");
    assert!(says(&harness, "30.0 mm missing for clamp or follower"));
    for tube in ["boom", "hook", "jib"] {
        click(&mut harness, tube);
        assert!(says(&harness, "BLOCKED") && !says(&harness, "CAN BE BENT,"), "{tube}");
    }
}
