//! Questions that a key answers before anything is done.

use super::super::app::App;
use super::super::keys::ConfirmationAction;
use super::super::page::Confirmation;
use super::super::ui::Ui;
use super::decision::Decision;

/// Asks something, and says what each of the two keys does.
pub fn ask(app: &App, mut ui: Ui, confirmation: Confirmation, text: &str, yes: &str, no: &str) -> Decision {
    let keys = &app.settings.keys;
    let (yes_key, no_key) = (keys.key_of(ConfirmationAction::Yes), keys.key_of(ConfirmationAction::No));
    ui.asked(format!("{text} {yes_key} {yes}, {no_key} {no}"));
    ui.asks = Some(confirmation);
    Decision::of(ui)
}
