//! What an examiner does on the Frame screen.

use super::{Failure, pictures};
use crate::pictures::Album;

#[test]
fn from_an_empty_frame_to_a_sphere_and_a_cylinder() -> Result<(), Failure> {
    let album = Album::of("frame");
    pictures(&album, "frame-1-empty", "")?;
    pictures(&album, "frame-2-typing", "-4")?;
    pictures(&album, "frame-3-sphere", "-4<enter>")?;
    pictures(&album, "frame-4-cylinder", "-4<enter>-0.75x30<enter>")?;
    pictures(&album, "frame-5-turned", "-4<enter>-0.75x30<enter>}}]")
}

#[test]
fn a_wanted_power_without_its_lens_is_proposed_and_taken() -> Result<(), Failure> {
    let album = Album::of("frame");
    pictures(&album, "proposal-1-offered", "-4<enter>w-4.25/-0.75x180<enter>")?;
    pictures(&album, "proposal-2-second-chosen", "-4<enter>w-4.25/-0.75x180<enter><down>")?;
    pictures(&album, "proposal-3-taken", "-4<enter>w-4.25/-0.75x180<enter>2")?;
    pictures(&album, "proposal-4-undone-in-one", "-4<enter>w-4.25/-0.75x180<enter>2u")
}

#[test]
fn both_eyes_are_proposed_without_using_a_lens_twice() -> Result<(), Failure> {
    let album = Album::of("frame");
    pictures(&album, "pair-1-offered", "w-5.25<enter><tab>w-5.25<enter>P")?;
    pictures(&album, "pair-2-taken", "w-5.25<enter><tab>w-5.25<enter>P1")
}

#[test]
fn a_lens_that_is_not_to_be_had_is_refused_with_a_stack_instead() -> Result<(), Failure> {
    let album = Album::of("frame");
    pictures(&album, "refused-1-not-in-the-box", "-3.25<enter>")?;
    pictures(&album, "refused-2-in-the-other-eye", "3BU<enter><tab>3BD<enter>")?;
    pictures(&album, "refused-3-both-pieces-before-the-left-eye", "<tab>-10<enter><right>-10<enter><tab>-10<enter>")?;
    pictures(&album, "refused-4-stack-taken", "-3.25<enter>1")
}

#[test]
fn marks_and_net_part_when_lenses_stand_far_apart() -> Result<(), Failure> {
    let album = Album::of("frame");
    pictures(&album, "marks-1-strong-in-front", "<right><right><right>+10<enter>")?;
    pictures(&album, "marks-2-moved-to-the-rear", "<right><right><right>+10<enter>m<left><left><left><enter>")
}

#[test]
fn the_hand_holds_flips_and_builds_in() -> Result<(), Failure> {
    let album = Album::of("frame");
    pictures(&album, "hand-1-held", "-2<enter>h-0.50<enter>")?;
    pictures(&album, "hand-2-built-in", "-2<enter>h-0.50<enter><right>b")?;
    pictures(&album, "hand-3-cross-cylinder", "-2<enter>h+-0.25x90<enter>")?;
    pictures(&album, "hand-4-flipped", "-2<enter>h+-0.25x90<enter>f")?;
    pictures(&album, "hand-5-occluded", "-2<enter><tab>o")
}

#[test]
fn lenses_move_and_change_places_between_cells_and_eyes() -> Result<(), Failure> {
    let album = Album::of("frame");
    pictures(&album, "move-1-carried", "-4<enter><right>+0.50<enter>m")?;
    pictures(&album, "move-2-swapped-with-the-other-eye", "-4<enter><tab>+0.50<enter>m<tab><enter>")?;
    pictures(&album, "move-3-eyes-swapped", "-4<enter>-0.75x30<enter><tab>+2<enter>S")
}

#[test]
fn the_drawer_is_filtered_and_taken_from() -> Result<(), Failure> {
    let album = Album::of("frame");
    pictures(&album, "drawer-1-next-shelf", "-4<enter>d<right>")?;
    pictures(&album, "drawer-2-filtered", "-4<enter>dcyl")?;
    pictures(&album, "drawer-3-axis-asked", "-4<enter>dcyl<down><down><enter>")?;
    pictures(&album, "drawer-4-taken", "-4<enter>dcyl<down><down><enter>45<enter>")
}

#[test]
fn prisms_add_up_and_say_where_their_base_is() -> Result<(), Failure> {
    let album = Album::of("frame");
    pictures(&album, "prism-1-right-eye", "3BI<enter><right>2BU<enter>")?;
    pictures(&album, "prism-2-left-eye", "<tab>3BI<enter><right>2BU<enter>")
}

#[test]
fn powers_are_written_in_the_form_asked_for_and_for_the_planned_glasses() -> Result<(), Failure> {
    let album = Album::of("frame");
    pictures(&album, "form-1-plus", "-4<enter>-0.75x30<enter>t")?;
    pictures(&album, "form-2-planned-vertex", "-8<enter>-2x30<enter>v14<enter>")
}

#[test]
fn help_shows_what_works_where_it_is_asked() -> Result<(), Failure> {
    let album = Album::of("frame");
    pictures(&album, "help-1-empty-frame", "?")?;
    pictures(&album, "help-2-with-lenses", "-4<enter>-0.75x30<enter>?")?;
    pictures(&album, "help-3-scrolled", "-4<enter>-0.75x30<enter>?<pagedown>")?;
    pictures(&album, "help-4-cautions", "!")
}

#[test]
fn the_mouse_points_takes_and_turns() -> Result<(), Failure> {
    let album = Album::of("frame");
    // the front cell of the left eye at 120x36 stands at row 15, column 90
    super::picture(&album, "mouse-1-cell-clicked", "<click:90,15>", "120x36")?;
    super::picture(&album, "mouse-2-drawer-lens-clicked", "<click:5,21>", "120x36")?;
    super::picture(&album, "mouse-3-wheel-turns-the-axis", "-0.75x30<enter><wheel-up:42,4><wheel-up:42,4>", "120x36")?;
    super::picture(&album, "mouse-4-proposal-clicked", "w-4.25<enter><click:20,22>", "120x36")
}
