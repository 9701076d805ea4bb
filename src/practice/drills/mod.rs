//! Drills: short questions about the sums and rules of refraction, drawn from a seed, marked at once with the working shown.
//!
//! Values only: a seed comes in, and the same one gives the same items on any machine. What is right comes from the optics and
//! the guide's own rules; what an item asks for lies plainly on a step, never near half-way between two.
//!
//! - [`table`]: the twenty drills, the three levels, what hurts most;
//! - [`item`], [`answer`]: a question with what is given, what is right, how that is read and written;
//! - [`marking`]: right, or wrong with the kind of slip;
//! - [`progress`]: what was answered, and what is due when;
//! - a file for each kin of drills, and [`drawing`] for what they are drawn with.

pub mod acuities;
pub mod answer;
pub mod cylinders;
pub mod drawing;
pub mod faults;
pub mod item;
pub mod marking;
pub mod moving;
pub mod prisms;
pub mod progress;
pub mod signs;
pub mod stacks;
pub mod streak;
pub mod subjective;
pub mod table;
pub mod written;

pub use answer::{Answer, Unreadable};
pub use item::{Given, Item, Slip};
pub use marking::{Mark, mark};
pub use progress::{Answered, Progress, SkillProgress};
pub use table::{Drill, Hurts, Level, Skill};

use super::draws::Draws;

/// So many items back no question is asked again word for word, if another is found at all.
const NOT_AGAIN_WITHIN: usize = 5;
/// So many times another is looked for: some drills have few questions.
const TRIES_FOR_ANOTHER: usize = 20;

/// Items of a drill at a level, as many as are wanted: the same for a seed on any machine, and the first ones the same however
/// many are wanted.
pub fn items(skill: Skill, seed: u64, count: usize) -> Vec<Item> {
    let drill = Drill::ALL.iter().position(|&drill| drill == skill.drill).unwrap_or_default() as u64;
    // every drill at every level has a stream of its own
    let stream = 1_000 + 10 * drill + u64::from(skill.level.number());
    let mut draws = Draws::new(seed, stream);
    let mut items: Vec<Item> = Vec::with_capacity(count);
    while items.len() < count {
        let mut item = sound(skill, &mut draws);
        for _ in 0..TRIES_FOR_ANOTHER {
            let asked = |before: &Item| before.ask == item.ask;
            if !items.iter().rev().take(NOT_AGAIN_WITHIN).any(asked) {
                break;
            }
            item = sound(skill, &mut draws);
        }
        items.push(item);
    }
    items
}

/// Draws until an item has one plain answer, and every slip that it knows another.
fn sound(skill: Skill, draws: &mut Draws) -> Item {
    loop {
        if let Some(item) = drawn(skill, draws).filter(Item::tells_slips_apart) {
            return item;
        }
    }
}

fn drawn(skill: Skill, draws: &mut Draws) -> Option<Item> {
    match skill.drill {
        Drill::Net => moving::net_of_stack(skill, draws),
        Drill::Stack => stacks::stack(skill, draws),
        Drill::Transposition => written::transposition(skill, draws),
        Drill::Equivalent => written::equivalent(skill, draws),
        Drill::Effective => moving::effective(skill, draws),
        Drill::Crossed => cylinders::crossed(skill, draws),
        Drill::Axis => cylinders::axis(skill, draws),
        Drill::Meridian => cylinders::meridian(skill, draws),
        Drill::Retinoscopy => streak::retinoscopy(skill, draws),
        Drill::FirstLens => subjective::first_lens(skill, draws),
        Drill::Step => subjective::step(skill, draws),
        Drill::Clock => subjective::clock(skill, draws),
        Drill::CrossCylinder => subjective::cross_cylinder(skill, draws),
        Drill::WithAgainst => streak::with_against(skill, draws),
        Drill::Addition => subjective::addition(skill, draws),
        Drill::Order => stacks::order(skill, draws),
        Drill::Prentice => prisms::prentice(skill, draws),
        Drill::Acuity => acuities::acuity(skill, draws),
        Drill::Fault => faults::fault(skill, draws),
        Drill::Refer => signs::refer(skill, draws),
    }
}
