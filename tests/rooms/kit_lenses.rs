//! What holds for a lens of every kind: the logbook's pinned lenses are asked, so that a new kind is among them.
#![expect(clippy::unwrap_used, reason = "a test may stop")]

use dioptray::kit::file::kind_words;
use dioptray::kit::schema::BoxFile;
use dioptray::kit::{Accessory, Lens, parse_box};

use crate::kept::lenses;

/// The line of a box file that declares one such lens.
fn declared(lens: &Lens) -> String {
    match lens {
        Lens::Sphere(mark) => format!("{{kind: sphere, powers: [\"{mark}\"], each: 1}}"),
        Lens::Cylinder(mark) => format!("{{kind: cylinder, powers: [\"{mark}\"], each: 1}}"),
        Lens::Prism(mark) => format!("{{kind: prism, powers: [\"{}\"], each: 1}}", mark.dioptres()),
        Lens::CrossCylinder(mark) => format!("{{kind: cross cylinder, powers: [\"{}\"], each: 1}}", mark.unsigned()),
        Lens::Accessory(accessory) if is_known(accessory) => format!("{{kind: {accessory}, each: 1}}"),
        Lens::Accessory(own) => {
            let (name, covers, turns) = (own.name(), own.covers(), own.turns());
            format!("{{kind: accessory, name: {name}, covers: {covers}, turns: {turns}, each: 1}}")
        }
    }
}

fn is_known(accessory: &Accessory) -> bool {
    Accessory::KNOWN.contains(accessory)
}

#[test]
fn a_box_file_declares_a_lens_of_every_kind() {
    let lines: Vec<String> = lenses().iter().map(|lens| format!("  - {}\n", declared(lens))).collect();
    let text = format!("box: One of each\nlenses:\n{}", lines.concat());
    let read = parse_box("one.yaml", &text).unwrap();
    assert_eq!(read.lines.into_iter().map(|line| line.lens).collect::<Vec<_>>(), lenses());
    // the schema by which editors check a box file allows it too
    let file: BoxFile = serde_yaml::from_str(&text).unwrap();
    for line in file.lenses {
        assert!(kind_words().contains(&line.kind.as_str()), "{}", line.kind);
    }
}

#[test]
fn a_lens_of_every_kind_is_read_by_its_label() {
    for lens in lenses() {
        assert_eq!(lens.to_string().parse().as_ref(), Ok(&lens));
    }
}

#[test]
fn a_name_that_says_all_of_a_lens_is_known_without_a_box() {
    for lens in lenses().into_iter().filter(|lens| lens.name().is_some()) {
        let of_its_box = match &lens {
            Lens::Accessory(accessory) => !is_known(accessory),
            Lens::Sphere(_) | Lens::Cylinder(_) | Lens::Prism(_) | Lens::CrossCylinder(_) => false,
        };
        assert_eq!(Lens::known_by_name().any(|known| known == lens), !of_its_box, "{lens}");
    }
}

#[test]
fn a_lens_without_power_stays_in_its_cell_and_is_never_stacked() {
    for lens in lenses() {
        assert_eq!(lens.stays_in_its_cell(), !lens.makes_power(), "{lens}");
        assert!(lens.makes_power() || !lens.is_stacked(), "{lens}");
    }
}
