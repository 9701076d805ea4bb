//! What a practice eye answers when it is asked by hand, without the guide: by what really stands before it.

use libm::pow;

use super::answers::{acuity_of, second_or_first};
use super::examinee::{Compared, Examinee, FanSeen, ReflexSeen};
use super::people::Room;
use super::sight::{Aperture, FAR_M, Look};
use crate::exam::{Answer, ByHand, State};
use crate::guide::Question;
use crate::kit::{Accessory, Lens};
use crate::optics::near_print::print_points;
use crate::optics::{Acuity, Axis, Eye, Eyes, Power};

/// What stands before both eyes, and how far the things are that they look at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandsThere {
    /// The power of what is in the cells.
    pub in_cells: Eyes<Power>,
    /// The same with what the hand holds.
    pub with_hand: Eyes<Power>,
    /// The same with what the hand holds flipped; `None` where it holds no cross cylinder.
    pub flipped: Eyes<Option<Power>>,
    /// Whether it is covered, or sees nothing because light comes to a focus between the cells.
    pub is_blind: Eyes<bool>,
    /// Through what it looks besides, with the hand.
    pub aperture: Eyes<Aperture>,
    /// The same without what the hand holds.
    pub aperture_of_cells: Eyes<Aperture>,
    /// Whether the hand holds anything.
    pub holds: Eyes<bool>,
    /// How far the chart is, in metres.
    pub chart_m: f64,
    /// How far the retinoscope is, in metres.
    pub working_m: f64,
    /// How far print is held, in metres.
    pub near_m: f64,
}

impl StandsThere {
    /// What stands there in an exam, in the room of the person where the exam says nothing else.
    pub fn of(state: &State, room: Room) -> Self {
        let fitted = &state.fitted;
        let before = Eyes::from_fn(|eye| fitted.in_front_of(eye));
        let held = Eyes::from_fn(|eye| fitted.held(eye));
        let in_hand = |eye: Eye| held[eye].map(|held| aperture_of(&held.stocked.piece.lens, held.direction.degrees()));
        let in_cells = |eye: Eye| {
            let apertures = fitted.in_cells(eye).map(|there| (&there.stocked.piece.lens, there.direction.degrees()));
            apertures.map(|(lens, degrees)| aperture_of(lens, degrees)).fold(Aperture::Pupil, narrower)
        };
        let aperture_of_cells = Eyes::from_fn(in_cells);
        Self {
            in_cells: before.map(|before| before.net),
            with_hand: before.map(|before| before.net_with_hand),
            flipped: Eyes::from_fn(|eye| {
                let held = held[eye].filter(|held| held.stocked.piece.lens.is_cross_cylinder())?;
                let across = Axis::folded(i32::from(held.direction.degrees()?)).perpendicular();
                Some(fitted.in_front_of_flipped(eye, u16::from(across.degrees())).net_with_hand)
            }),
            is_blind: before.map(|before| before.occluded || !before.net_with_hand.is_finite()),
            aperture: Eyes::from_fn(|eye| narrower(aperture_of_cells[eye], in_hand(eye).unwrap_or(Aperture::Pupil))),
            aperture_of_cells,
            holds: held.map(|held| held.is_some()),
            chart_m: state.person.chart_metres.unwrap_or(room.chart_m),
            working_m: state.person.working_metres.unwrap_or(room.working_m),
            near_m: room.near_m,
        }
    }

    /// A look of an eye at the chart, with what the hand holds or with that away.
    pub fn at_chart(&self, eye: Eye, with_hand: bool) -> Look {
        let (before, aperture) = if with_hand {
            (self.with_hand[eye], self.aperture[eye])
        } else {
            (self.in_cells[eye], self.aperture_of_cells[eye])
        };
        Look { aperture, ..Look::at_chart(before, self.chart_m) }
    }
}

/// What a piece leaves open.
fn aperture_of(lens: &Lens, degrees: Option<u16>) -> Aperture {
    if *lens == Lens::Accessory(Accessory::Pinhole) {
        return Aperture::Pinhole;
    }
    let slit = degrees.filter(|_| *lens == Lens::Accessory(Accessory::Slit));
    slit.map_or(Aperture::Pupil, |degrees| Aperture::Slit { along_deg: f64::from(degrees) })
}

/// Two one behind the other: a pinhole is narrower than a slit.
fn narrower(one: Aperture, other: Aperture) -> Aperture {
    match (one, other) {
        (Aperture::Pinhole, _) | (_, Aperture::Pinhole) => Aperture::Pinhole,
        (Aperture::Slit { .. }, _) => one,
        (Aperture::Pupil, _) => other,
    }
}

impl Examinee {
    /// What is answered to something asked by hand of one eye; of both where that is the question. `None` where it cannot be
    /// asked now: the eye is covered, or the hand holds nothing that could be taken away or flipped.
    pub fn answers_by_hand(&mut self, eye: Eye, question: ByHand, there: &StandsThere) -> Option<Answer> {
        let of_both = match question {
            ByHand::ClearerEye | ByHand::Print => true,
            ByHand::Letters
            | ByHand::WithLens
            | ByHand::Fan
            | ByHand::RedGreen
            | ByHand::CrossCylinder
            | ByHand::Reflex { .. } => false,
        };
        let is_blind = |eye: Eye| there.is_blind[eye];
        if if of_both { Eye::BOTH.into_iter().any(is_blind) } else { is_blind(eye) } {
            return None;
        }
        self.seen_by_hand(eye, question, there)
    }

    fn seen_by_hand(&mut self, eye: Eye, question: ByHand, there: &StandsThere) -> Option<Answer> {
        let now = there.at_chart(eye, true);
        match question {
            ByHand::Letters => {
                self.is_asked();
                let seen = self.sees(eye, &now);
                let read = self.reads(seen, there.chart_m);
                Some(Answer::Read(read.map_or(Acuity::NoLetter, |log_mar| acuity_of(log_mar, there.chart_m))))
            }
            ByHand::WithLens if there.holds[eye] => {
                self.is_asked();
                let (without, with) = (Eyes::both(there.at_chart(eye, false)), Eyes::both(now));
                let black = self.blackness(Some(eye), &without, &with);
                Some(match self.compares_looks(Some(eye), &without, &with, black) {
                    Compared::Clearer => Answer::Clearer,
                    Compared::Same => Answer::Same,
                    Compared::Worse => Answer::Worse,
                })
            }
            ByHand::WithLens => None,
            ByHand::Fan => {
                self.is_asked();
                Some(match self.looks_at_fan(eye, &now) {
                    FanSeen::Alike => Answer::Same,
                    FanSeen::Two(hour) => Answer::HalfHours(2 * hour + 1),
                    FanSeen::Line(hour) => Answer::HalfHours(2 * hour),
                })
            }
            ByHand::RedGreen => {
                self.is_asked();
                Some(second_or_first(self.looks_at_red_and_green(eye, &now)))
            }
            ByHand::CrossCylinder => {
                let flipped = Look { before: there.flipped[eye]?, ..now };
                self.is_asked();
                Some(second_or_first(self.compares_looks(Some(eye), &Eyes::both(now), &Eyes::both(flipped), 0.0)))
            }
            ByHand::ClearerEye => {
                self.is_asked();
                let seen = Eye::BOTH.map(|eye| self.sees(eye, &there.at_chart(eye, true)));
                Some(second_or_first(self.compares_alike(seen[0], seen[1])))
            }
            ByHand::Print => {
                self.is_asked();
                let looks = there.with_hand.map(|before| Look::at_print(before, there.near_m));
                let looks = Eyes::from_fn(|eye| Look { aperture: there.aperture[eye], ..looks[eye] });
                let seen = self.sees_with_both(&looks);
                let read = self.reads(seen, FAR_M).map(|log_mar| print_points(pow(10.0, log_mar), there.near_m));
                let choices = Question::PrintRead.choices();
                let sizes = choices.iter().filter_map(|choice| choice.answer.print_points());
                let smallest = read.and_then(|read| sizes.filter(|&size| size >= read).min_by(f64::total_cmp));
                Some(smallest.map_or(Answer::No, Answer::Print))
            }
            // the examiner sees this one, and nobody tires of it
            ByHand::Reflex { along } => {
                Some(match self.shows_reflex(eye, there.with_hand[eye], f64::from(along), there.working_m) {
                    ReflexSeen::With { dull } => Answer::With { dull },
                    ReflexSeen::Against { dull } => Answer::Against { dull },
                    ReflexSeen::Neutral => Answer::Neither,
                    ReflexSeen::Breaks => Answer::Breaks,
                })
            }
        }
    }
}
