//! Files: opened, saved, changed by others, left behind.

use crate::{Painter, ball, open, said, settle, window};
use eframe::egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable;
use grisaille_bodies::{icosphere, scaled, stl};
use grisaille_preview::{Chosen, Question, Wish};
use grisaille_scheme::{ModelSource, read_document};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

#[test]
fn the_desktops_dialog_opens_and_saves_and_its_absence_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let (print, scheme) = (folder.path().join("print.stl"), folder.path().join("print.grisaille"));
    fs::write(&print, ball()).expect("a model");
    let mut painter = open(&[], None, 1.0);
    let ask = |painter: &mut Painter, key: Key, answer: Vec<PathBuf>| {
        let wishes = Arc::new(Mutex::new(Vec::new()));
        let heard = Arc::clone(&wishes);
        let desktop = move |wish: &Wish| -> Chosen {
            heard.lock().expect("no panic before").push(wish.clone());
            let answer = answer.clone();
            Box::pin(async move { answer })
        };
        window(painter).set_desktop(Arc::new(desktop));
        painter.key_press_modifiers(Modifiers::COMMAND, key);
        painter.run_steps(3);
        painter.get_by_role_and_label(Role::Button, "The desktop's own dialog…").click_accesskit();
        let until = Instant::now() + Duration::from_secs(20);
        let done = |painter: &Painter| {
            painter.query_by_role_and_label(Role::Button, "The desktop's own dialog…").is_none()
        };
        while !done(painter) && Instant::now() < until {
            painter.run_steps(2);
            std::thread::sleep(Duration::from_millis(5));
        }
        assert!(done(painter));
        let wishes = wishes.lock().expect("no panic before");
        wishes.clone()
    };
    let wishes = ask(&mut painter, Key::O, vec![print.clone()]);
    assert!(matches!(wishes.as_slice(), [Wish::Open(_)]), "{wishes:?}");
    settle(&mut painter);
    let models = &window(&mut painter).document().models;
    assert!(matches!(&models[0].source, ModelSource::File(path) if *path == print), "{models:?}");
    // The ending is added where the desktop does not.
    let wishes = ask(&mut painter, Key::S, vec![scheme.with_extension("")]);
    assert!(matches!(wishes.as_slice(), [Wish::Save(path)] if *path == scheme), "{wishes:?}");
    assert!(read_document(&fs::read_to_string(&scheme).expect("it was saved")).is_ok());
    ask(&mut painter, Key::O, Vec::new());
    assert!(painter.query_by_label_contains("shows no dialog of its own").is_some());
}

#[test]
fn files_that_cannot_be_read_leave_the_work_and_say_why() {
    let folder = tempfile::tempdir().expect("a folder");
    let put = |name: &str, bytes: &[u8]| {
        let path = folder.path().join(name);
        fs::write(&path, bytes).expect("a file");
        path
    };
    let mut painter = open(&[], None, 1.0);
    let document = window(&mut painter).document().clone();
    for (path, words) in [
        (folder.path().join("gone.stl"), "cannot read"),
        (put("newer.grisaille", b"version = 7\n"), "newer grisaille"),
        (put("typing.grisaille", b"version = 1\nmodel = 3\n"), "line 2"),
    ] {
        window(&mut painter).ask_to_open(vec![path.clone()]);
        painter.run_steps(3);
        assert!(said(&mut painter).contains(words), "{}: {}", path.display(), said(&mut painter));
        assert_eq!(*window(&mut painter).document(), document);
        assert!(window(&mut painter).settled());
    }
    // A file that is there but no model is told by the worker.
    let broken = put("broken.stl", b"this is a shopping list");
    window(&mut painter).ask_to_open(vec![broken]);
    let begun = Instant::now();
    while !said(&mut painter).contains("not a model that can be read") {
        painter.run_steps(2);
        assert!(begun.elapsed() < Duration::from_secs(20), "{}", said(&mut painter));
    }
    // What was there can be opened again.
    window(&mut painter).ask_to_open(Vec::new());
    settle(&mut painter);
}

#[test]
fn a_disk_that_takes_nothing_loses_nothing() {
    let mut painter = open(&[], None, 1.0);
    window(&mut painter).undo();
    painter.key_press_modifiers(Modifiers::COMMAND, Key::ArrowRight);
    settle(&mut painter);
    let document = window(&mut painter).document().clone();
    assert!(!window(&mut painter).save_to(Path::new("/nowhere/at/all.grisaille")));
    assert!(said(&mut painter).contains("Your work is still here"));
    assert_eq!(*window(&mut painter).document(), document);
}

#[test]
fn work_left_behind_is_offered_and_taken_up() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut painter = open(&[], Some(folder.path()), 1.0);
    painter.key_press_modifiers(Modifiers::COMMAND, Key::ArrowRight);
    settle(&mut painter);
    painter.run_steps(2);
    let document = window(&mut painter).document().clone();
    let copy = fs::read_dir(folder.path())
        .expect("the folder")
        .flatten()
        .map(|e| e.path())
        .find(|p| p.extension().is_some_and(|e| e == "grisaille"))
        .expect("a copy");
    // As a killed window leaves it: the copy is there, its lock is free.
    fs::rename(&copy, folder.path().join("window-0-0.grisaille")).expect("left behind");
    drop(painter);
    let mut painter = open(&[], Some(folder.path()), 1.0);
    assert!(matches!(window(&mut painter).asked(), Some(Question::Rescue(_))));
    painter.get_by_role_and_label(Role::Button, "Take it up again").click();
    painter.run_steps(3);
    settle(&mut painter);
    assert_eq!(*window(&mut painter).document(), document);
    // It is not saved, and this window keeps it from here on.
    painter.run_steps(3);
    let copies = |painter: &mut Painter| {
        painter.run_steps(1);
        let names = fs::read_dir(folder.path()).expect("the folder").flatten().map(|e| e.path());
        names.filter(|p| p.extension().is_some_and(|e| e == "grisaille")).count()
    };
    assert_eq!(copies(&mut painter), 1);
    // Saved, no copy is left.
    assert!(window(&mut painter).save_to(&folder.path().join("shelf.grisaille")));
    painter.run_steps(3);
    assert_eq!(copies(&mut painter), 1, "only the scheme itself");
}

#[test]
fn a_change_outside_is_noticed_and_offered() {
    let folder = tempfile::tempdir().expect("a folder");
    let model = folder.path().join("ball.stl");
    fs::write(&model, ball()).expect("a model");
    let mut painter = open(std::slice::from_ref(&model), None, 1.0);
    let height =
        |painter: &mut Painter| window(painter).ground().map_or(0.0, |g| g.mesh.bounds().extents()[2]);
    assert!((height(&mut painter) - 14.0).abs() < 0.1);
    let taller = stl(&scaled(icosphere(3), 9.0));
    fs::write(&model, taller).expect("another model");
    let begun = Instant::now();
    while window(&mut painter).asked().is_none() {
        painter.run_steps(5);
        assert!(begun.elapsed() < Duration::from_secs(60), "not noticed");
    }
    painter.run_steps(2);
    painter.get_by_role_and_label(Role::Button, "Read it again").click();
    painter.run_steps(4);
    settle(&mut painter);
    assert!((height(&mut painter) - 18.0).abs() < 0.1, "{}", height(&mut painter));
}
