//! Which procedure runs.

use super::belief::Likelihood;
use super::findings::Findings;
use super::ladder::{
    Balance, BestSphere, CrossCylinderAxis, CrossCylinderPower, CrossCylinderSearch, Fan, FinalSphere, FirstLens,
    FirstLetter, Near, Neutralisation, OverMinusCheck, Retinoscopy, SetUp, Slit, Writing,
};
use super::procedure::{Procedure, Target};
use crate::exam::procedures::with_procedures;
use crate::exam::{Given, ProcedureName};
use crate::optics::Eye;

macro_rules! running {
    ($($(#[doc = $doc:literal])+ $name:ident, $about:ident, $shown:literal;)+) => {
        /// The procedure that runs.
        #[derive(Debug, Clone, PartialEq)]
        pub(super) enum Running {
            $($name($name)),+
        }

        impl Running {
            /// Begins a procedure; `None` when it cannot be about that eye, or about both.
            pub fn begin(
                procedure: ProcedureName,
                eye: Option<Eye>,
                given: &Given,
                findings: &Findings,
            ) -> Option<Self> {
                match procedure {
                    $(ProcedureName::$name => running!(@begin $about $name, eye, given, findings).map(Self::$name)),+
                }
            }

            pub fn procedure(&self) -> &dyn Procedure {
                match self {
                    $(Self::$name(procedure) => procedure),+
                }
            }

            pub fn procedure_mut(&mut self) -> &mut dyn Procedure {
                match self {
                    $(Self::$name(procedure) => procedure),+
                }
            }
        }
    };
    (@begin OneEye $name:ident, $eye:ident, $given:ident, $findings:ident) => {
        $eye.map(|eye| $name::begin(eye, $given, $findings))
    };
    (@begin BothEyes $name:ident, $eye:ident, $given:ident, $findings:ident) => {
        $eye.is_none().then(|| $name::begin($given, $findings))
    };
    (@begin Either $name:ident, $eye:ident, $given:ident, $findings:ident) => {
        Some($name::begin(Target::from($eye), $given, $findings))
    };
}
with_procedures!(running);
