//! What a key can ask for, by the place that does it. The key table and the settings know each action by one name, whatever
//! its place.
//!
//! Each place's `act` and `is_available` match every action of the place, so that a new one does not compile before all of
//! them have said something about it.

use std::fmt;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::exam::ProcedureName;
use crate::export::RecordForm;

/// The actions of one place, with the list of all of them.
macro_rules! place {
    ($(#[$doc:meta])* $name:ident { $($(#[$attribute:meta])* $action:ident),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        #[expect(missing_docs, reason = "the key table says in words what each does")]
        pub enum $name { $($(#[$attribute])* $action),+ }

        impl $name {
            /// Every action of this place.
            pub const ALL: &[Self] = &[$(Self::$action),+];
        }
    };
}

/// Every place, and the action that wraps its own.
macro_rules! actions {
    ($($(#[$doc:meta])* $place:ident($name:ident)),+ $(,)?) => {
        /// What a key can ask for.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
        #[serde(untagged)]
        pub enum Action { $($(#[$doc])* $place($name)),+ }

        impl Action {
            /// Every action, place by place.
            pub fn every() -> impl Iterator<Item = Self> {
                std::iter::empty()$(.chain($name::ALL.iter().copied().map(Self::$place)))+
            }
        }

        $(impl From<$name> for Action {
            fn from(action: $name) -> Self {
                Self::$place(action)
            }
        })+
    };
}

actions! {
    /// On a typed line.
    Typing(TypingAction),
    /// In the frame and the hand.
    Cells(CellsAction),
    /// On proposals, drawer and whatever else has lines.
    Lists(ListsAction),
    /// Answers, and choosing and leaving a procedure.
    Guide(GuideAction),
    /// Going back to what was tried.
    Trail(TrailAction),
    /// On the details of the exam.
    Details(DetailsAction),
    /// On earlier exams, and on the beginning and the end of this one.
    Records(RecordsAction),
    /// On a box: its tray, and what happens to its pieces.
    Box(BoxAction),
    /// In a stock-take.
    Counting(CountingAction),
    /// On what a box makes.
    Makes(MakesAction),
    /// On lenses that are looked through.
    Looking(LookingAction),
    /// Where it is shown what a practice eye sees.
    Sight(SightAction),
    /// On a day of many people.
    Day(DayAction),
    /// On what an exam comes to.
    OfOutcome(OutcomeAction),
    /// In a screening pass.
    OfScreening(ScreeningAction),
    /// In practice.
    Practice(PracticeAction),
    /// To a practice eye.
    PracticeEye(PracticeEyeAction),
    /// On an earlier exam: written into a file.
    Export(ExportAction),
    /// On a question that must be answered first.
    Confirmation(ConfirmationAction),
    /// On the steps of the exam.
    Steps(StepsAction),
    /// On the screen itself.
    Screen(ScreenAction),
}

place! {
    /// What can be done with a typed line.
    TypingAction { Confirm, Cancel }
}

place! {
    /// What can be done with cells, hand and wanted power.
    CellsAction {
        PutDown, LetGo, Wanted, TurnBack, TurnOn, TurnBackFar, TurnOnFar, TakeOut, EmptyEye, Outward, Inward, ByName,
        MoveLens, SwapEyes, Hold, LayBack, BuildIn, Flip, Occlude, PlannedVertex,
    }
}

place! {
    /// What can be done with whatever has lines.
    ListsAction {
        TakeProposal, TakeChosen, ChooseNext, ChoosePrevious, PageNext, PagePrevious, ShelfNext, ShelfPrevious, Close,
        Proposals, Pair, Drawer,
    }
}

place! {
    /// What can be done in the guide.
    GuideAction {
        #[serde(rename = "guide")]
        Open,
        Answer, TypeAnswer, SkipStep, AskAgain, LeaveProcedure, ChooseProcedure, PickProcedure, ChangeStrategy,
    }
}

place! {
    /// What can be done in the trail.
    TrailAction {
        #[serde(rename = "trail")]
        Open,
        GoBack,
    }
}

place! {
    /// What can be done with the details of the exam.
    DetailsAction {
        Accept,
        #[serde(rename = "details")]
        Open,
        EnterDetail, TakeBack, RightEye, LeftEye,
    }
}

place! {
    /// What can be done with exams as a whole.
    RecordsAction {
        #[serde(rename = "records")]
        Open,
        #[serde(rename = "find-exam")]
        Find,
        OpenRecord, Amend, GlassesBack, GlassesAnswer, TakeGlassesBack, CloseExam, NewExam,
    }
}

place! {
    /// What can be done with a box.
    BoxAction {
        #[serde(rename = "box")]
        Open,
        MarkPiece, WhichPiece, PieceLost, PieceFound, PieceLent, PieceBack, PieceDamaged, PieceMeasured, PieceAdded, PieceOut,
        PieceMoved, PieceNote, BoxUndo, FindPlace,
        #[serde(rename = "boxes")]
        AllBoxes,
        NextBox,
        #[serde(rename = "loans")]
        Loans,
        #[serde(rename = "unsettled")]
        Unsettled,
        SettleInBox, SettleLost,
        #[serde(rename = "stock-take")]
        StockTake,
        #[serde(rename = "what-it-makes")]
        WhatItMakes,
        #[serde(rename = "open-chosen")]
        OpenChosen,
        AllBack, NewBox, OwnBox, OwnFrame, NewFrame, FrameAnswer, WhatToBuy, PackBag, BagMore, BagFewer, CheckOut,
        CostOfLoss, BuyPrices, BuyBudget, Sheets, WriteSheet,
    }
}

place! {
    /// What can be done in a stock-take.
    CountingAction {
        RowAsShown, CountMissing, CountHere, CountDamaged, CountMore, CountStrange, CountMeasured, CountBlind, CountWhich,
        CountNote, CountUndo, CountEnd, CountGiveUp, CountYes, RowNext, RowPrevious, LensNext, LensPrevious,
    }
}

place! {
    /// What can be done with the map of what a box makes.
    MakesAction { MapUp, MapDown, MapLeft, MapRight, MapStack, MapEyes, MapCloser, MapWider, MapBeside }
}

place! {
    /// What can be done with lenses that are looked through.
    LookingAction {
        HoldPairs, UnknownLens, LineWith, LineAgainst, LineStill, CrossMoves, CrossScissors, CrossBeside, CrossStays, LookBack,
    }
}

place! {
    /// What can be done where it is shown what a practice eye sees.
    SightAction {
        #[serde(rename = "sight")]
        Open,
        NextPicture, NextPlace, LineSmaller, LineLarger, FlickLens, AskEye, AskWithLens, Judge, ReadsThis,
        SweepRight, SweepLeft, SweepByItself, StreakBack, StreakOn, StreakBackFar, StreakOnFar, StreakWidth, SitElsewhere,
    }
}

place! {
    /// What can be done with a day.
    DayAction {
        #[serde(rename = "day")]
        Open,
        Outcome, Screening, DayBegin, CallIn, CallNew, PersonWaits, PersonLeft, DropsPut, DayUndo, DayEnd, DayShelf,
    }
}

place! {
    /// What can be done with the outcome of an exam.
    OutcomeAction { OutcomePick, OutcomeClose }
}

place! {
    /// What can be answered in a screening pass.
    ScreeningAction { ScreeningAnswer, ScreeningType }
}

place! {
    /// What can be done in practice.
    PracticeAction {
        #[serde(rename = "practice")]
        Open,
        PracticePick, PracticeTake, PracticeReplay,
    }
}

place! {
    /// What a practice eye can be asked for.
    PracticeEyeAction { EyeAnswers }
}

place! {
    /// What can be answered to a question that must be answered first.
    ConfirmationAction { Yes, No }
}

place! {
    /// What can be done with the steps of the exam.
    StepsAction { Undo, Redo }
}

place! {
    /// What can be done with the screen itself.
    ScreenAction { OtherEye, Prescription, Transpose, Theme, Cautions, Help, SkipLesson, Suspend, DrawAll, Quit }
}

/// Writing a record into a file, in one of its forms: `export-card`, `export-pdf` and so on, one for every form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ExportAction(pub RecordForm);

/// What the name of the action has before the name of the form.
const EXPORT: &str = "export-";

impl ExportAction {
    /// Every action of this place: one for every form.
    pub const ALL: &[Self] = &{
        let mut all = [Self(RecordForm::ALL[0]); RecordForm::ALL.len()];
        let mut place = 0;
        while place < all.len() {
            all[place] = Self(RecordForm::ALL[place]);
            place += 1;
        }
        all
    };
}

impl Serialize for ExportAction {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&format_args!("{EXPORT}{}", self.0))
    }
}

impl<'de> Deserialize<'de> for ExportAction {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let name = String::deserialize(deserializer)?;
        let form = name.strip_prefix(EXPORT).and_then(|form| RecordForm::ALL.iter().find(|known| known.name() == form));
        form.copied().map(Self).ok_or_else(|| serde::de::Error::custom(format!("`{name}` writes no record")))
    }
}

/// Rows of a page of the trail that have a key each.
const ROWS_OF_A_PAGE: usize = 30;

impl Action {
    /// How many rows of a list its keys choose among by their position; `None` for an action that has keys of its own alone.
    pub fn rows_by_position(self) -> Option<usize> {
        match self {
            Self::Guide(GuideAction::PickProcedure) => Some(ProcedureName::ALL.len()),
            Self::Trail(TrailAction::GoBack) => Some(ROWS_OF_A_PAGE),
            Self::Guide(
                GuideAction::Open
                | GuideAction::Answer
                | GuideAction::TypeAnswer
                | GuideAction::SkipStep
                | GuideAction::AskAgain
                | GuideAction::LeaveProcedure
                | GuideAction::ChooseProcedure
                | GuideAction::ChangeStrategy,
            )
            | Self::Trail(TrailAction::Open)
            | Self::Typing(_)
            | Self::Cells(_)
            | Self::Lists(_)
            | Self::Details(_)
            | Self::Records(_)
            | Self::Box(_)
            | Self::Counting(_)
            | Self::Makes(_)
            | Self::Looking(_)
            | Self::Sight(_)
            | Self::Day(_)
            | Self::OfOutcome(_)
            | Self::OfScreening(_)
            | Self::Practice(_)
            | Self::PracticeEye(_)
            | Self::Export(_)
            | Self::Confirmation(_)
            | Self::Steps(_)
            | Self::Screen(_) => None,
        }
    }
}

impl Action {
    /// Whether it can only do something to the exam itself, which a closed one does not take.
    pub fn changes_exam(self) -> bool {
        match self {
            Self::Guide(_) | Self::Steps(_) | Self::OfOutcome(_) | Self::OfScreening(_) => true,
            Self::Typing(_)
            | Self::Box(_)
            | Self::Counting(_)
            | Self::Makes(_)
            | Self::Looking(_)
            | Self::Day(_)
            | Self::Practice(_)
            | Self::PracticeEye(_)
            | Self::Export(_)
            | Self::Confirmation(_)
            | Self::Screen(_) => false,
            Self::Sight(action) => match action {
                SightAction::AskEye
                | SightAction::AskWithLens
                | SightAction::Judge
                | SightAction::ReadsThis
                | SightAction::SitElsewhere => true,
                SightAction::Open
                | SightAction::NextPicture
                | SightAction::NextPlace
                | SightAction::LineSmaller
                | SightAction::LineLarger
                | SightAction::FlickLens
                | SightAction::SweepRight
                | SightAction::SweepLeft
                | SightAction::SweepByItself
                | SightAction::StreakBack
                | SightAction::StreakOn
                | SightAction::StreakBackFar
                | SightAction::StreakOnFar
                | SightAction::StreakWidth => false,
            },
            Self::Cells(action) => match action {
                CellsAction::LetGo | CellsAction::Outward | CellsAction::Inward => false,
                CellsAction::PutDown
                | CellsAction::Wanted
                | CellsAction::TurnBack
                | CellsAction::TurnOn
                | CellsAction::TurnBackFar
                | CellsAction::TurnOnFar
                | CellsAction::TakeOut
                | CellsAction::EmptyEye
                | CellsAction::ByName
                | CellsAction::MoveLens
                | CellsAction::SwapEyes
                | CellsAction::Hold
                | CellsAction::LayBack
                | CellsAction::BuildIn
                | CellsAction::Flip
                | CellsAction::Occlude
                | CellsAction::PlannedVertex => true,
            },
            Self::Lists(action) => match action {
                ListsAction::TakeProposal | ListsAction::TakeChosen => true,
                ListsAction::ChooseNext
                | ListsAction::ChoosePrevious
                | ListsAction::PageNext
                | ListsAction::PagePrevious
                | ListsAction::ShelfNext
                | ListsAction::ShelfPrevious
                | ListsAction::Close
                | ListsAction::Proposals
                | ListsAction::Pair
                | ListsAction::Drawer => false,
            },
            Self::Trail(action) => match action {
                TrailAction::GoBack => true,
                TrailAction::Open => false,
            },
            Self::Details(action) => match action {
                DetailsAction::Accept | DetailsAction::EnterDetail | DetailsAction::TakeBack => true,
                DetailsAction::Open | DetailsAction::RightEye | DetailsAction::LeftEye => false,
            },
            Self::Records(action) => match action {
                RecordsAction::CloseExam => true,
                RecordsAction::Open
                | RecordsAction::Find
                | RecordsAction::OpenRecord
                | RecordsAction::Amend
                | RecordsAction::GlassesBack
                | RecordsAction::GlassesAnswer
                | RecordsAction::TakeGlassesBack
                | RecordsAction::NewExam => false,
            },
        }
    }
}

/// The name that the key table and the settings know it by.
impl fmt::Display for Action {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}
