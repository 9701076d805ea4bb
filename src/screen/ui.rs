//! What belongs to the screen alone: focus, the typed line, open panels. None of it is part of the exam.

use std::rc::Rc;

use super::box_page::{BoxPage, BoxShown};
use super::counting::Counting;
use super::day_page::{DayPage, DayShown};
use super::field::{Field, rows};
use super::keys::{Action, Chord, Context};
use super::page::{Confirmation, Page};
use super::practice_page::{PracticePage, Seated};
use super::settings::{Settings, ThemeName};
use super::shelf::Shelf;
use super::sight::{Picture, Sight};
use super::spot::Spot;
use crate::exam::Sentence;
use crate::exam::came_back::GlassesQuestion;
use crate::frame::FrameQuestion;
use crate::guide::Question;
use crate::kit::Lens;
use crate::optics::{CylinderForm, Eye, Eyes, Power};

/// The panel that the keys work on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Panel {
    /// The cells of the eye.
    Cells,
    /// Stacks that make the wanted power, one of them chosen.
    Proposals,
    /// The lenses of the box, filtered by what is typed.
    Drawer,
    /// What the guide shows, asks and says.
    Guide,
    /// The list of the guide's procedures.
    Choosing,
    /// Everything tried so far.
    Trail,
}

impl Panel {
    /// Whether it is one of the guide's.
    pub fn is_of_the_guide(self) -> bool {
        match self {
            Self::Guide | Self::Choosing => true,
            Self::Cells | Self::Proposals | Self::Drawer | Self::Trail => false,
        }
    }

    /// Whether it lists lenses, one by one or stacked.
    pub fn is_of_lenses(self) -> bool {
        match self {
            Self::Proposals | Self::Drawer => true,
            Self::Cells | Self::Guide | Self::Choosing | Self::Trail => false,
        }
    }

    /// Whether keys work on the place in focus before an eye.
    fn works_on_places(self) -> bool {
        match self {
            Self::Cells | Self::Proposals | Self::Drawer => true,
            Self::Guide | Self::Choosing | Self::Trail => false,
        }
    }
}

/// What lies over the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sheet {
    /// The keys that work on the screen underneath, from a line on.
    Help(u16),
    /// What to be careful about in this exam and in all.
    Cautions,
    /// What had to be said at the start, from a line on.
    Notes(u16),
    /// The prescription as it would be written now, from a line on.
    Prescription(u16),
}

/// What a typed line is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// A lens for the cell in focus.
    Lens,
    /// A lens for the hand.
    Hold,
    /// The wanted power of the eye.
    Wanted,
    /// The vertex distance for which glasses are planned.
    PlannedVertex,
    /// The answer to what the guide asks.
    Answer,
    /// A detail of the exam.
    Detail(Field),
    /// The label of another exam.
    NewExam,
    /// Words by which the list of exams is searched.
    Find,
    /// Something to add to a closed exam.
    Amendment(u64),
    /// Something of glasses that came back.
    Glasses(GlassesQuestion),
    /// Something of the box.
    Box(BoxLine),
    /// Something of the day.
    Day(DayLine),
    /// Something of practice.
    Practice(PracticeLine),
}

/// What is typed in practice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PracticeLine {
    /// A teacher's code.
    Code,
    /// The file of a lesson.
    Lesson,
    /// The answer to an item of a drill.
    DrillAnswer,
}

/// What is typed on the day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DayLine {
    /// Where the day is held.
    Place,
    /// Somebody who comes in now.
    New,
    /// Somebody who will come.
    Waits,
    /// Drops that were put in.
    Drops,
    /// The sphere of a ready-made pair.
    ReadyMade,
    /// Another pair of the shelf.
    OtherPair,
    /// The file of a shelf.
    Shelf,
    /// Why somebody else has to see the person.
    ReferWhy,
    /// Why the person was not refracted.
    NotRefractedWhy,
    /// The line that is read in a screening pass.
    Acuity,
}

/// What is typed on the Box screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BoxLine {
    /// The place to go to, by its power or its name.
    Place,
    /// To whom pieces are lent, and until when.
    Lent,
    /// What is damaged.
    Damaged,
    /// The power that was measured, or that the piece was mended.
    Measured,
    /// The lens that came into the box.
    Added,
    /// The box to which pieces move.
    Moved,
    /// What is to be remembered of pieces.
    Note,
    /// What a new box is called, and of which template it is.
    NewBox,
    /// The same for the box that exams are on, or its file.
    OwnBox,
    /// What a new frame is called, and of which template it is, or the file of one.
    NewFrame,
    /// An answer about a new frame.
    OfNewFrame(FrameQuestion),
    /// To whom a bag goes, and until when.
    CheckOut,
    /// In a stock-take, what is damaged.
    CountDamaged,
    /// In a stock-take, a lens that nobody knows.
    CountStrange,
    /// In a stock-take, the power that was measured.
    CountMeasured,
    /// In a stock-take, what is to be remembered of it.
    CountNote,
    /// The file with what can be bought.
    Prices,
    /// For how much is bought at most.
    Budget,
    /// The keeper's limits for the sheet of what was measured: dioptres, months.
    SheetLimits,
    /// The file of a sheet.
    SheetFile,
}

/// A line that is being typed.
#[derive(Debug, Clone)]
pub struct Prompt {
    /// What `enter` does with the line.
    pub purpose: Purpose,
    /// The line and its cursor.
    pub line: tui_input::Input,
    /// The character, from 0, at which the line was last refused.
    pub fault: Option<usize>,
}

/// How a message is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// Something was done.
    Done,
    /// Something was refused, and nothing was changed.
    Refused,
    /// Something is asked.
    Asked,
}

/// A message to the person at the screen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Says {
    /// How it is meant.
    pub tone: Tone,
    /// The words.
    pub text: String,
}

/// A power to propose stacks for because a lens that was asked for is not available.
#[derive(Debug, Clone, PartialEq)]
pub struct Instead {
    /// Before which eye.
    pub eye: Eye,
    /// The net power that the eye would have had with the lens.
    pub power: Power,
    /// The lens that was asked for.
    pub lens: Lens,
}

/// An answer that the guide was given, to be written when it is shown.
#[derive(Debug, Clone, PartialEq)]
pub enum Answered {
    /// By its key.
    Chosen {
        /// What the key said.
        label: Sentence,
        /// Its digit and what was asked, until the next key: it may show that the digit began something typed.
        begins: Option<(u8, Question)>,
    },
    /// As it was typed, or what was done instead.
    Text(String),
}

/// The state of the screen itself.
#[derive(Debug, Clone)]
pub struct Ui {
    /// The eye that the keys work on.
    pub eye: Eye,
    /// The place in focus before each eye, right first.
    pub spots: Eyes<Spot>,
    /// The panel that the keys work on.
    pub panel: Panel,
    /// The line being typed, if one is.
    pub prompt: Option<Prompt>,
    /// What lies over the screen, if anything does.
    pub sheet: Option<Sheet>,
    /// Whether the open sheet offers a box and a frame of one's own, as at the first start.
    pub offers_kit: bool,
    /// What had to be said at the start.
    pub notes: Rc<[String]>,
    /// What stands in the place of the eyes, if anything does.
    pub page: Option<Page>,
    /// The step of the first exam that is to be done, while that is learnt.
    pub learns: Option<usize>,
    /// The practice eye that sits there, if one does.
    pub practice: Option<Seated>,
    /// What is shown of it where it is looked at.
    pub sight: Sight,
    /// The panel that had the keys before that.
    pub before_sight: Panel,
    /// Whether a screening pass begins with whoever is called in, as with the person before.
    pub screens: bool,
    /// The question that waits for its answer, if one does.
    pub asks: Option<Confirmation>,
    /// The place whose lens is being moved.
    pub carrying: Option<(Eye, Spot)>,
    /// The shelf of the drawer that is shown.
    pub shelf: Shelf,
    /// What was typed to filter the drawer.
    pub filter: String,
    /// The chosen line of the drawer.
    pub chosen_lens: usize,
    /// The chosen line of the proposals, from 0.
    pub chosen_proposal: usize,
    /// Whether proposals are for both eyes together.
    pub pair: bool,
    /// What to propose stacks for instead of the wanted power.
    pub instead: Option<Instead>,
    /// The answer that the guide was given last.
    pub answered: Option<Answered>,
    /// The chosen point of the trail, the newest of the eye first.
    pub chosen_tried: usize,
    /// The last message.
    pub says: Option<Says>,
    /// Sign of the written cylinder.
    pub form: CylinderForm,
    /// Colours.
    pub theme: ThemeName,
}

impl Ui {
    /// The screen as it starts.
    pub fn new(settings: &Settings) -> Self {
        Self {
            eye: Eye::Right,
            spots: Eyes::both(Spot::Cell(1)),
            panel: Panel::Cells,
            prompt: None,
            sheet: None,
            offers_kit: false,
            notes: Rc::default(),
            page: None,
            learns: None,
            practice: None,
            sight: Sight::default(),
            before_sight: Panel::Cells,
            screens: false,
            asks: None,
            carrying: None,
            shelf: Shelf::default(),
            filter: String::new(),
            chosen_lens: 0,
            chosen_proposal: 0,
            pair: false,
            instead: None,
            answered: None,
            chosen_tried: 0,
            says: None,
            form: settings.form,
            theme: settings.theme,
        }
    }

    /// The place in focus before the eye that the keys work on.
    pub fn spot(&self) -> Spot {
        self.spots[self.eye]
    }

    /// Whether keys work on a place before an eye: the one in focus, unless the guide or the trail has the keys.
    pub fn works_in(&self, eye: Eye, spot: Spot) -> bool {
        self.panel.works_on_places() && self.eye == eye && self.spot() == spot
    }

    /// Where a key is pressed now, as the key table has it.
    pub fn context(&self) -> Context {
        if self.sheet.is_some() && self.offers_kit {
            Context::Offering
        } else if self.sheet.is_some() {
            Context::Reading
        } else if self.prompt.is_some() {
            Context::Typing
        } else if self.asks.is_some() {
            Context::Asking
        } else {
            self.context_underneath()
        }
    }

    /// Where a key is pressed when nothing lies over the screen and no line is typed.
    pub fn context_underneath(&self) -> Context {
        match &self.page {
            Some(Page::Details(row)) => {
                let field = rows().nth(*row).map(|row| row.field(self.eye));
                let words = field.is_some_and(Field::begins_with_letters);
                return if words { Context::Words } else { Context::Details };
            }
            Some(Page::Records(records)) if records.glasses_shown().is_some() => return Context::Returning,
            Some(Page::Records(records)) if records.open.is_some() => return Context::Record,
            Some(Page::Records(_)) => return Context::Records,
            Some(Page::Box(page)) => {
                return match &page.shown {
                    BoxShown::Tray => Context::Box,
                    BoxShown::Boxes(..) => Context::Boxes,
                    BoxShown::NewFrame(_) => Context::Framing,
                    BoxShown::Loans(_) => Context::Loans,
                    BoxShown::Unsettled(_) => Context::Unsettled,
                    BoxShown::Counting(counting) if counting.ends => Context::Ending,
                    BoxShown::Counting(counting) if counting.blind => Context::Blind,
                    BoxShown::Counting(_) => Context::Counting,
                    BoxShown::Makes(_) => Context::Makes,
                    BoxShown::Buy => Context::Buying,
                    BoxShown::Pack(_) => Context::Packing,
                    BoxShown::Sheets { .. } => Context::Sheets,
                    BoxShown::Pairs(_) => Context::Pairs,
                    BoxShown::Unmarked(unmarked) if unmarked.asks_to_turn() => Context::Turning,
                    BoxShown::Unmarked(_) => Context::Unmarked,
                };
            }
            Some(Page::Sight) => {
                return match self.sight.picture {
                    Picture::Fan | Picture::Rings | Picture::Letters => Context::Sight,
                    Picture::Streak => Context::Streak,
                };
            }
            Some(Page::Day(page)) => {
                return match &page.shown {
                    DayShown::List => Context::Day,
                    DayShown::Outcome | DayShown::HowSoon { .. } | DayShown::ComeBack | DayShown::ReadyMade(_) => {
                        Context::Outcome
                    }
                    DayShown::Screening => Context::Screening,
                    DayShown::Shelf { .. } => Context::Shelf,
                };
            }
            Some(Page::Practice(_)) => return Context::Practising,
            None => {}
        }
        match self.panel {
            Panel::Cells if self.carrying.is_some() => Context::Carrying,
            Panel::Cells => Context::Cells,
            Panel::Proposals => Context::Proposals,
            Panel::Drawer => Context::Drawer,
            Panel::Guide => Context::Guide,
            Panel::Choosing => Context::Choosing,
            Panel::Trail => Context::Trail,
        }
    }

    /// The box that is shown, if one is.
    pub fn box_page(&self) -> Option<&BoxPage> {
        match &self.page {
            Some(Page::Box(page)) => Some(page),
            Some(Page::Details(_) | Page::Records(_) | Page::Day(_) | Page::Practice(_) | Page::Sight) | None => None,
        }
    }

    /// The chosen row of the details, if they are shown.
    pub fn details_row(&self) -> Option<usize> {
        match &self.page {
            Some(Page::Details(row)) => Some(*row),
            Some(Page::Records(_) | Page::Box(_) | Page::Day(_) | Page::Practice(_) | Page::Sight) | None => None,
        }
    }

    /// The day that is shown, if one is.
    pub fn day_page(&self) -> Option<&DayPage> {
        match &self.page {
            Some(Page::Day(page)) => Some(page),
            Some(Page::Details(_) | Page::Records(_) | Page::Box(_) | Page::Practice(_) | Page::Sight) | None => None,
        }
    }

    /// The page of practice, if it is shown.
    pub fn practice_page(&self) -> Option<&PracticePage> {
        match &self.page {
            Some(Page::Practice(page)) => Some(page),
            Some(Page::Details(_) | Page::Records(_) | Page::Box(_) | Page::Day(_) | Page::Sight) | None => None,
        }
    }

    /// The stock-take that is shown, if one is.
    pub fn counting(&self) -> Option<&Counting> {
        self.box_page()?.shown.counting()
    }

    /// Says that something was done. A question whose words are gone then waits for no answer.
    pub fn done(&mut self, text: impl Into<String>) {
        self.asks = None;
        self.says = Some(Says { tone: Tone::Done, text: text.into() });
    }

    /// Says that something was refused. A question whose words are gone then waits for no answer.
    pub fn refused(&mut self, text: impl Into<String>) {
        self.asks = None;
        self.says = Some(Says { tone: Tone::Refused, text: text.into() });
    }

    /// Adds to what was refused that keys typed after it were dropped.
    pub fn dropped(&mut self, keys: usize) {
        if keys > 0
            && let Some(says) = &mut self.says
        {
            let them = if keys == 1 { "the key" } else { "the keys" };
            says.text += "; ";
            says.text += them;
            says.text += " typed after that did nothing";
        }
    }

    /// Asks something.
    pub fn asked(&mut self, text: impl Into<String>) {
        self.says = Some(Says { tone: Tone::Asked, text: text.into() });
    }

    /// Starts a line with some text in it.
    pub fn start_line(&mut self, purpose: Purpose, text: impl Into<String>) {
        self.prompt = Some(Prompt { purpose, line: tui_input::Input::new(text.into()), fault: None });
        self.says = None;
    }
}

/// What a person does, as the screen understands it: the place of the mouse is already looked up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Input {
    /// A key was pressed, with what was held beside it.
    Key(Chord),
    /// Text came in one piece.
    Paste(String),
    /// Something was clicked.
    Click(Target),
    /// The wheel turned over something: 1 up, -1 down.
    Wheel(Target, i8),
}

/// What can be clicked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Target {
    /// A place before an eye.
    Spot(Eye, Spot),
    /// The dial of an eye.
    Dial(Eye),
    /// A line of the drawer.
    Lens(usize),
    /// A proposal, from 0.
    Proposal(usize),
    /// An answer to the guide, or a procedure of its list.
    Answer(usize),
    /// A point of the trail, the newest of the eye first.
    Tried(usize),
    /// A hint at the bottom.
    Action(Action),
    /// A row of the page that is open, and the eye it is of.
    Row(usize, Option<Eye>),
    /// A place of the box that is shown.
    Place(usize),
}
