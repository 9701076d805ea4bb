//! How sure a stack is: what a person's hand may spoil of the power that it is computed to make.
//!
//! Three things are set by hand or taken on trust: axes (a cylinder may stand half a mark of the dial off, cylinders of one
//! ring together), gaps between cells, and the marks of lenses. Each has a limit either way, and what is said is the *worst
//! case within the limits*, in dioptres of miss: as a power vector, for what a gap does to the equivalent and what an axis does to
//! the cylinder do not add up like numbers. So the whole is at most the sum of the parts, and at least the greatest of them. The root
//! of the sum of squares would be wrong here: a hand can be at several limits at once, and what is said would then be less than what
//! is spoilt.
//!
//! How it is found: every source of error at either of its limits makes a change of the net; the ends of these changes, added up as
//! vectors in every combination, are the corners of what can happen, and the farthest corner is the worst. That corner
//! is then stepped through the gaps once more in full, so what is said is what the net would be off. A tested stack never
//! spoils more than this by a hundredth of itself (`tests/rooms/sureness.rs`).

use super::declared::{DeclaredFrame, MOST_CELLS};
use crate::optics::vergence::{at_vertex, net};
use crate::optics::{Dioptres, Millimetres, Power};

/// How far a gap between two cells may be off either way: ours, no source.
pub const GAP_OFF: Millimetres = Millimetres(0.5);

/// How far the vertex distance may be off either way, which is read off a rule beside the eye: ours, no source.
pub const VERTEX_OFF: Millimetres = Millimetres(1.0);

/// From more than this, in dioptres, people are told: half of the smallest step that is prescribed, a quarter, and the
/// weakest lens of most sets (ours, no source).
pub const SAID_FROM_D: f64 = 0.12;

/// So many of the strongest sources are tried in every combination; a stack of four lenses in four cells has at most ten.
const TRIED_IN_EVERY_WAY: usize = 10;

/// A lens as a hand sets it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SetLens {
    /// Its cell, from 1 at the eye.
    pub cell: u8,
    /// What it makes, turned as it is meant to be.
    pub power: Power,
    /// What a dioptre more than its mark would add; none for a lens that was measured, or that makes no power.
    pub mark: Option<Power>,
}

/// What can be off, either way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// An axis, in degrees: half a mark of the dial.
    pub axis_deg: f64,
    /// A gap between cells.
    pub gap: Millimetres,
    /// The vertex distance.
    pub vertex: Millimetres,
    /// The power of a lens against its mark, in dioptres; unknown where nobody has said.
    pub mark: Option<Dioptres>,
}

impl Limits {
    /// Those of a person's hand with this frame, and the tolerance of the marks where one is set.
    pub fn of(frame: &DeclaredFrame, mark: Option<Dioptres>) -> Self {
        Self { axis_deg: f64::from(frame.axis_marks_deg) / 2.0, gap: GAP_OFF, vertex: VERTEX_OFF, mark }
    }
}

/// What half a mark on the dial spoils.
#[derive(Debug, Clone, PartialEq)]
pub struct AxisCare {
    /// The cell of the cylinder, or all cells with cylinders that turn together, from the eye outward.
    pub cells: Vec<u8>,
    /// In dioptres of miss.
    pub spoils_d: f64,
}

/// What a hand may spoil of a stack, each in dioptres of miss.
#[derive(Debug, Clone, PartialEq)]
pub struct Sureness {
    /// All axes off together.
    pub axis_d: f64,
    /// All gaps off together; none where the marks of the box add up.
    pub gaps_d: f64,
    /// All lenses off their marks together; `None` when no tolerance is known.
    pub marks_d: Option<f64>,
    /// All of these off together.
    pub together_d: f64,
    /// Of the power at the cornea, the vertex distance off by [`VERTEX_OFF`]. The net at cell 1 does not depend on it.
    pub vertex_d: f64,
    /// Each axis that is set, alone, from the eye outward.
    pub axes: Vec<AxisCare>,
}

/// What is off in one source of error at one of its limits.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Off {
    /// Cells by their bits, turned by degrees.
    Turned { cells: u16, degrees: f64 },
    /// The gap outward of a cell, from 0, by so much.
    Gap { nth: usize, by: Millimetres },
    /// The lens in a cell, from 0, stronger by this.
    Mark { nth: usize, by: Power },
}

/// A source of error: what is off at its two limits, and what each alone changes of the net.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Source {
    ends: [Off; 2],
    changes: [Power; 2],
}

impl Source {
    fn reach(&self) -> f64 {
        self.changes.iter().map(|change| change.blur_strength()).fold(0.0, f64::max)
    }
}

/// A stack as numbers.
struct Stack<'a> {
    powers: [Power; MOST_CELLS],
    gaps: &'a [Millimetres],
    net: Power,
}

impl Stack<'_> {
    /// The change of the net when several things are off at once.
    fn change(&self, off: impl Iterator<Item = Off>) -> Power {
        let mut powers = self.powers;
        let mut gaps = [Millimetres(0.0); MOST_CELLS];
        gaps[..self.gaps.len()].copy_from_slice(self.gaps);
        let (mut turned, mut marks) = ([0.0; MOST_CELLS], [Power::ZERO; MOST_CELLS]);
        for off in off {
            match off {
                Off::Turned { cells, degrees } => {
                    for (nth, turned) in turned.iter_mut().enumerate() {
                        *turned += if cells & (1 << nth) == 0 { 0.0 } else { degrees };
                    }
                }
                Off::Gap { nth, by } => gaps[nth].0 += by.0,
                Off::Mark { nth, by } => marks[nth] += by,
            }
        }
        for (nth, power) in powers.iter_mut().enumerate() {
            *power = (*power + marks[nth]).turned(turned[nth]);
        }
        net(&powers, &gaps[..self.gaps.len()]) - self.net
    }

    fn source(&self, ends: [Off; 2]) -> Source {
        Source { ends, changes: ends.map(|end| self.change(std::iter::once(end))) }
    }

    /// The farthest that the net can get from what it should be, in dioptres.
    fn worst(&self, sources: impl IntoIterator<Item = Source>) -> f64 {
        let mut sources: Vec<Source> = sources.into_iter().filter(|source| source.reach() > 0.0).collect();
        sources.sort_by(|one, other| other.reach().total_cmp(&one.reach()));
        let (strongest, others) = sources.split_at(sources.len().min(TRIED_IN_EVERY_WAY));
        let mut sums = vec![Power::ZERO];
        for source in strongest {
            sums = sums.iter().flat_map(|sum| source.changes.map(|change| *sum + change)).collect();
        }
        let square = |power: Power| power.m * power.m + power.j0 * power.j0 + power.j45 * power.j45;
        let farthest = (0..sums.len()).max_by(|&one, &other| square(sums[one]).total_cmp(&square(sums[other])));
        let farthest = farthest.unwrap_or(0);
        let mut chosen: Vec<usize> =
            (0..strongest.len()).map(|nth| farthest >> (strongest.len() - 1 - nth) & 1).collect();
        // what is weaker than ten others is put to the end that goes on in their direction
        let mut sum = sums[farthest];
        for source in others {
            let end = usize::from(square(sum + source.changes[1]) > square(sum + source.changes[0]));
            chosen.push(end);
            sum += source.changes[end];
        }
        let stepped = |flip: usize| {
            let ends = sources.iter().zip(&chosen).map(|(source, end)| source.ends[end ^ flip]);
            self.change(ends).blur_strength()
        };
        stepped(0).max(stepped(1))
    }
}

/// What a hand may spoil of lenses in the cells of a frame. `gaps` are those that light is stepped along: none for a box whose
/// marks add up.
///
/// `None` when there is no power to spoil, or a hand may bring it there: light comes to a focus in a cell or on the cornea.
pub fn sureness(lenses: &[SetLens], frame: &DeclaredFrame, gaps: &[Millimetres], limits: &Limits) -> Option<Sureness> {
    let mut powers = [Power::ZERO; MOST_CELLS];
    for lens in lenses {
        *powers.get_mut(usize::from(lens.cell).checked_sub(1)?)? += lens.power;
    }
    let gaps = &gaps[..gaps.len().min(MOST_CELLS - 1)];
    let stack = Stack { powers, gaps, net: net(&powers, gaps) };
    let at_cornea = |off: f64| {
        let vertex = Millimetres((frame.vertex.0 + off).max(0.0));
        at_vertex(stack.net, vertex, Millimetres(0.0))
    };
    let cornea = at_cornea(0.0);
    if !stack.net.is_finite() || !cornea.is_finite() {
        return None;
    }
    let turned = |cells: &Vec<u8>| {
        let bits = cells.iter().fold(0, |bits, cell| bits | 1 << (cell - 1));
        stack.source([-1.0, 1.0].map(|way| Off::Turned { cells: bits, degrees: way * limits.axis_deg }))
    };
    let groups = turned_together(lenses, frame);
    let axes: Vec<Source> = groups.iter().map(turned).collect();
    let between: Vec<Source> = (0..gaps.len())
        .map(|nth| {
            // two cells are never nearer than touching
            let nearer = Millimetres(-limits.gap.0.min(gaps[nth].0));
            stack.source([nearer, limits.gap].map(|by| Off::Gap { nth, by }))
        })
        .collect();
    let marks: Option<Vec<Source>> = limits.mark.map(|tolerance| {
        let marked = lenses.iter().filter_map(|lens| Some((usize::from(lens.cell) - 1, lens.mark?)));
        marked
            .map(|(nth, one)| stack.source([-tolerance.0, tolerance.0].map(|by| Off::Mark { nth, by: one.scaled(by) })))
            .collect()
    });
    let changes = axes.iter().chain(&between).chain(marks.iter().flatten()).flat_map(|source| source.changes);
    if !changes.into_iter().all(Power::is_finite) {
        return None;
    }
    let all = axes.iter().chain(&between).chain(marks.iter().flatten()).copied();
    Some(Sureness {
        axis_d: stack.worst(axes.iter().copied()),
        gaps_d: stack.worst(between.iter().copied()),
        marks_d: marks.as_ref().map(|marks| stack.worst(marks.iter().copied())),
        together_d: stack.worst(all),
        vertex_d: [-limits.vertex.0, limits.vertex.0]
            .map(|off| at_cornea(off).miss(cornea))
            .into_iter()
            .fold(0.0, f64::max),
        axes: groups
            .into_iter()
            .zip(&axes)
            .map(|(cells, source)| AxisCare { cells, spoils_d: source.reach() })
            .collect(),
    })
}

/// The cells with a cylinder, those together that turn together.
fn turned_together(lenses: &[SetLens], frame: &DeclaredFrame) -> Vec<Vec<u8>> {
    let mut groups: Vec<Vec<u8>> = Vec::new();
    let mut cells: Vec<u8> =
        lenses.iter().filter(|lens| lens.power.astigmatism() > 0.0).map(|lens| lens.cell).collect();
    cells.sort_unstable();
    for cell in cells {
        let ring = frame.turning_with(cell);
        match groups.iter_mut().find(|group| group.iter().any(|of_group| ring.contains(of_group))) {
            Some(group) => group.push(cell),
            None => groups.push(vec![cell]),
        }
    }
    groups
}

impl Sureness {
    /// Whether a hand may spoil so much that people are told.
    pub fn is_said(&self) -> bool {
        self.together_d > SAID_FROM_D
    }

    /// The axes that need care, each alone spoiling more than is passed over.
    pub fn careful_axes(&self) -> impl Iterator<Item = &AxisCare> {
        self.axes.iter().filter(|axis| axis.spoils_d > SAID_FROM_D)
    }

    /// Whether the vertex distance needs care, for the power at the cornea.
    pub fn is_careful_of_vertex(&self) -> bool {
        self.vertex_d > SAID_FROM_D
    }

    /// What may be spoilt and of what it is made up; nothing when it is too little to be told.
    pub fn in_words(&self) -> Option<String> {
        self.is_said().then(|| {
            let marks = match self.marks_d {
                Some(marks) => format!("marks {marks:.2}"),
                None => "marks of lenses not counted (no mark_tolerance_d is set)".to_owned(),
            };
            format!(
                "may be {:.2} D off by hand: axes {:.2}, gaps {:.2}, {marks}",
                self.together_d, self.axis_d, self.gaps_d
            )
        })
    }

    /// What to set with care, a sentence each.
    pub fn cares(&self) -> Vec<String> {
        let axis = |axis: &AxisCare| {
            format!("set the axis of {} with care: half a mark spoils {:.2} D", axis.in_words(), axis.spoils_d)
        };
        let mut cares: Vec<String> = self.careful_axes().map(axis).collect();
        if self.is_careful_of_vertex() {
            let spoils_d = self.vertex_d;
            cares.push(format!(
                "measure the vertex distance with care: {} mm spoils {spoils_d:.2} D at the cornea",
                VERTEX_OFF.0
            ));
        }
        cares
    }
}

impl AxisCare {
    /// Which cells: `cell 3`, `cells 3 and 4`.
    pub fn in_words(&self) -> String {
        let cells: Vec<String> = self.cells.iter().map(u8::to_string).collect();
        match cells.as_slice() {
            [only] => format!("cell {only}"),
            all => format!("cells {}", all.join(" and ")),
        }
    }
}
