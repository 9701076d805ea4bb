//! Signatures of parcels: who wrote what is read, and what is refused.

use std::fs;
use std::io::Read as _;
use std::path::{Path, PathBuf};

use dioptray::logbook::Logbook;
use dioptray::logbook::parcels::error::{ParcelError, ParcelFault};
use dioptray::logbook::parcels::key::{key_file, key_of};
use dioptray::logbook::parcels::others::others_of;
use dioptray::logbook::parcels::read::Parcel;
use dioptray::logbook::parcels::signers::{Signer, Standing, Trust};
use dioptray::logbook::parcels::taking::{Reading, Taken, take_in};
use dioptray::logbook::parcels::write::SignsBy;
use dioptray::sharing::sealing;
use dioptray::sharing::{Hash, SeatKey};
use flate2::read::ZlibDecoder;

use super::parcels::{Seats, closed, fault, four_parcels, names};

/// A parcel as it was written before there were signatures, by lane3, deflated.
const NOT_SIGNED: &[u8] = include_bytes!("../kept/not_signed.parcel.zlib");

/// What stands behind the content: word, key, signature; word, hash.
const SIGNED_BYTES: usize = 16 + 32 + 64;
const SEALED_BYTES: usize = 16 + 32;

fn read(seats: &Seats, seat: &str, files: &[&Path], trust: Trust<'_>) -> Result<Taken, ParcelError> {
    read_so(seats, seat, files, false, trust)
}

fn read_so(seats: &Seats, seat: &str, files: &[&Path], only_say: bool, trust: Trust<'_>) -> Result<Taken, ParcelError> {
    let parcels = files.iter().map(|file| Parcel::read(file)).collect::<Result<Vec<_>, _>>()?;
    take_in(&seats.path(seat), &parcels, Reading { with_gap: true, only_say, trust })
}

/// The same bytes with a seal that holds.
fn sealed_again(bytes: &[u8]) -> Vec<u8> {
    let mut again = bytes.to_vec();
    let hash = Hash::of(&again);
    again.extend_from_slice(b"DioptrayParcel 1");
    again.extend_from_slice(hash.as_bytes());
    again
}

fn of_pipe(bytes: &[u8]) -> ParcelFault {
    fault(Parcel::of_pipe(bytes).unwrap_err())
}

fn loses_its_key(seats: &Seats, seat: &str) {
    fs::remove_file(key_file(&seats.path(seat))).unwrap();
}

fn standings(taken: &Taken) -> Vec<(String, Standing)> {
    taken.signers.iter().map(|signer| (signer.seat.to_string(), signer.standing)).collect()
}

#[test]
fn what_was_changed_after_it_was_signed_is_refused_whoever_seals_it() {
    let seats = Seats::new();
    let [one, ..] = four_parcels(&seats);
    let sound = fs::read(&one).unwrap();
    let key = key_of(&seats.path("lane3")).unwrap().public();
    assert_eq!(Parcel::read(&one).unwrap().signed_by, Some(key));
    let signed = &sound[..sound.len() - SEALED_BYTES];
    assert_eq!(sealed_again(signed), sound);
    // the name of the seat, every byte of key and signature, and places all over
    let name = signed.windows(5).rposition(|window| window == b"lane3").unwrap();
    let of_the_signature = signed.len() - SIGNED_BYTES + 16..signed.len();
    for at in [name].into_iter().chain(of_the_signature).chain((997..signed.len() - SIGNED_BYTES).step_by(997)) {
        let mut changed = signed.to_vec();
        changed[at] ^= 1;
        let refusal = of_pipe(&sealed_again(&changed));
        // where SQLite cannot read it any more, or an entry is another one, that is said
        let said = refusal.to_string();
        assert!(said.contains("nothing of it was read") || said.contains("nothing was read"), "byte {at}: {said}");
        if at == name || at >= signed.len() - SIGNED_BYTES {
            assert!(matches!(refusal, ParcelFault::WronglySigned), "byte {at}: {refusal}");
        }
    }
    // signed by somebody else, who writes the key of lane3 before it
    let content = signed[..signed.len() - SIGNED_BYTES].to_vec();
    let mut forged = sealing::seal(content.clone(), &SeatKey::from_secret(&[7; 32]));
    let key_at = forged.len() - SEALED_BYTES - 64 - 32;
    forged[key_at..key_at + 32].copy_from_slice(key.as_bytes());
    let forged = sealed_again(&forged[..forged.len() - SEALED_BYTES]);
    assert!(matches!(of_pipe(&forged), ParcelFault::WronglySigned));
    // without its signature
    assert!(matches!(of_pipe(&sealed_again(&content)), ParcelFault::WronglySigned));
}

#[test]
fn a_key_that_was_never_seen_is_asked_about_once_and_then_known() {
    let seats = Seats::new();
    let [one, two, three, four] = four_parcels(&seats);
    let refusal = fault(read(&seats, "teamB", &[&one], Trust::Known).unwrap_err());
    let key = key_of(&seats.path("lane3")).unwrap().public();
    let ParcelFault::NotTrusted { seat, fingerprint } = &refusal else { unreachable!("{refusal}") };
    assert_eq!((seat.as_str(), fingerprint), ("lane3", &key.fingerprint()));
    assert!(refusal.to_string().contains("--trust") && refusal.to_string().contains(fingerprint), "{refusal}");
    let refusal = fault(read(&seats, "teamB", &[&one], Trust::Asking(&mut |_| false)).unwrap_err());
    assert!(matches!(refusal, ParcelFault::NotTrusted { .. }));
    assert!(!others_of(&seats.path("teamB")).exists(), "nothing was read");

    let mut asked: Vec<Signer> = Vec::new();
    let mut ask = |signer: &Signer| {
        asked.push(signer.clone());
        true
    };
    let taken = read(&seats, "teamB", &[&one, &two], Trust::Asking(&mut ask)).unwrap();
    assert_eq!(standings(&taken), [("lane3".to_owned(), Standing::New)]);
    assert_eq!(asked.len(), 1);
    assert_eq!((asked[0].key, asked[0].standing), (key, Standing::New));
    let taken = read(&seats, "teamB", &[&three], Trust::Known).unwrap();
    assert_eq!(standings(&taken), [("lane3".to_owned(), Standing::Known)]);
    let taken = read(&seats, "teamB", &[&four, &one], Trust::Asking(&mut |_| unreachable!("it is known"))).unwrap();
    assert_eq!((taken.new, taken.known), (2, 1));
    // nothing new, nobody to be trusted
    assert_eq!(read(&seats, "teamB", &[&two], Trust::Known).unwrap().signers, []);
}

#[test]
fn only_saying_says_who_signed_and_writes_nothing() {
    let seats = Seats::new();
    let [one, ..] = four_parcels(&seats);
    let mut ask = |_: &Signer| unreachable!("nobody is asked where nothing is written");
    let taken = read_so(&seats, "teamB", &[&one], true, Trust::Asking(&mut ask)).unwrap();
    assert_eq!((taken.new, standings(&taken)), (1, vec![("lane3".to_owned(), Standing::New)]));
    assert!(!others_of(&seats.path("teamB")).exists());
    let refusal = fault(read(&seats, "teamB", &[&one], Trust::Known).unwrap_err());
    assert!(matches!(refusal, ParcelFault::NotTrusted { .. }), "it was not trusted by that: {refusal}");
}

#[test]
fn a_key_that_was_lost_is_another_one_that_has_to_be_trusted_again() {
    let seats = Seats::new();
    let mut lane3 = seats.open("lane3");
    closed(&mut lane3, "A.", 0);
    let first = key_of(lane3.path()).unwrap();
    assert_eq!(lane3.signs_by(&first).unwrap(), SignsBy::TheFirst);
    lane3.sign_by(&first).unwrap();
    assert_eq!(lane3.signs_by(&first).unwrap(), SignsBy::TheSame);
    let one = seats.write("lane3", "1", None);
    read(&seats, "teamB", &[&one], Trust::All).unwrap();
    let old_key = fs::read(key_file(lane3.path())).unwrap();
    loses_its_key(&seats, "lane3");
    let second = key_of(lane3.path()).unwrap();
    assert_ne!(first.public(), second.public());
    assert_eq!(lane3.signs_by(&second).unwrap(), SignsBy::Another);
    closed(&mut lane3, "B.", 100);
    let two = seats.write("lane3", "2", Some(&one));
    for trust in [Trust::Known, Trust::Asking(&mut |_| true)] {
        let refusal = fault(read(&seats, "teamB", &[&two], trust).unwrap_err());
        let said = refusal.to_string();
        assert!(matches!(&refusal, ParcelFault::KeyChanged { seat, .. } if seat.as_str() == "lane3"), "{said}");
        assert!(said.contains(&second.public().fingerprint()) && said.contains("--trust"), "{said}");
    }
    let only_said = read_so(&seats, "teamB", &[&two], true, Trust::Known).unwrap_err();
    assert!(matches!(fault(only_said), ParcelFault::KeyChanged { .. }));
    assert_eq!(names(&seats.state("teamB")), ["lane3-1"]);
    // who reads it for the first time meets the key that it has now
    let taken = read(&seats, "other", &[&one, &two], Trust::All).unwrap();
    assert_eq!(taken.signers.iter().map(|signer| signer.key).collect::<Vec<_>>(), [second.public()]);

    let taken = read(&seats, "teamB", &[&two], Trust::All).unwrap();
    let changed = Standing::Changed { before: first.public() };
    assert_eq!(standings(&taken), [("lane3".to_owned(), changed)]);
    closed(&mut lane3, "C.", 200);
    let three = seats.write("lane3", "3", Some(&two));
    read(&seats, "teamB", &[&three], Trust::Known).unwrap();
    // whoever found the lost one does not sign as lane3 any more
    fs::write(key_file(lane3.path()), old_key).unwrap();
    closed(&mut lane3, "D.", 300);
    let four = seats.write("lane3", "4", Some(&three));
    let refusal = fault(read(&seats, "teamB", &[&four], Trust::Known).unwrap_err());
    assert!(matches!(refusal, ParcelFault::KeyChanged { .. }));
}

#[test]
fn another_computer_under_the_name_of_a_seat_is_refused() {
    let seats = Seats::new();
    closed(&mut seats.open("lane3"), "A.", 0);
    let one = seats.write("lane3", "1", None);
    read(&seats, "teamB", &[&one], Trust::All).unwrap();
    // exam 1 of it is not closed, so that no two exams have one name
    let mut twin = Logbook::open(&seats.path("twin")).unwrap();
    twin.name_seat("lane3").unwrap();
    super::begin(&mut twin, "Hillside", super::after(50)).unwrap();
    closed(&mut twin, "B.", 100);
    let other = seats.write("twin", "other", None);
    for trust in [Trust::Known, Trust::Asking(&mut |_| true)] {
        let refusal = fault(read(&seats, "teamB", &[&other], trust).unwrap_err());
        assert!(matches!(refusal, ParcelFault::KeyChanged { .. }), "{refusal}");
    }
    // one of its own name is just a further one
    twin.name_seat("lane4").unwrap();
    let renamed = seats.write("twin", "renamed", None);
    let taken = read(&seats, "teamB", &[&renamed], Trust::All).unwrap();
    assert_eq!(standings(&taken), [("lane4".to_owned(), Standing::New)]);
    // and may change its name: the key says who it is
    twin.name_seat("lane5").unwrap();
    closed(&mut twin, "C.", 200);
    let again = seats.write("twin", "again", Some(&renamed));
    let taken = read(&seats, "teamB", &[&again], Trust::Known).unwrap();
    assert_eq!(standings(&taken), [("lane5".to_owned(), Standing::Known)]);
}

#[test]
fn what_is_not_signed_is_read_until_its_seat_signs() {
    let seats = Seats::new();
    let mut lane3 = seats.open("lane3");
    closed(&mut lane3, "A.", 0);
    let whole = seats.path("lane3");
    let taken = read(&seats, "teamB", &[&whole], Trust::Known).unwrap();
    assert_eq!((taken.new, &taken.signers, &taken.not_signed), (1, &vec![], &vec![whole.clone()]));
    closed(&mut lane3, "B.", 100);
    let signed = seats.write("lane3", "signed", None);
    let taken = read(&seats, "teamB", &[&signed], Trust::All).unwrap();
    assert_eq!((standings(&taken).len(), taken.not_signed), (1, vec![]));
    // nothing new in it, nothing to sign
    assert_eq!(read(&seats, "teamB", &[&whole], Trust::Known).unwrap().known, 2);
    closed(&mut lane3, "C.", 200);
    let refusal = fault(read(&seats, "teamB", &[&whole], Trust::Known).unwrap_err());
    assert!(matches!(&refusal, ParcelFault::SignatureMissing { seat } if seat.as_str() == "lane3"), "{refusal}");
    assert!(refusal.to_string().contains("--trust"), "{refusal}");
    let taken = read(&seats, "teamB", &[&whole], Trust::All).unwrap();
    assert_eq!((taken.new, taken.not_signed), (1, vec![whole]));
}

#[test]
fn what_a_signed_entry_follows_needs_no_signature_of_its_own() {
    let seats = Seats::new();
    let mut lane3 = seats.open("lane3");
    closed(&mut lane3, "A.", 0);
    let earlier = seats.0.path().join("earlier.db");
    lane3.copy_to(&earlier).unwrap();
    let one = seats.write("lane3", "1", None);
    closed(&mut lane3, "B.", 100);
    let two = seats.write("lane3", "2", Some(&one));
    // behind a gap, and together
    read(&seats, "teamB", &[&two], Trust::All).unwrap();
    let taken = read(&seats, "teamB", &[&earlier], Trust::Known).unwrap();
    assert_eq!((taken.new, taken.not_signed), (1, vec![]));
    let taken = read(&seats, "other", &[&earlier, &two], Trust::All).unwrap();
    assert_eq!((taken.new, taken.not_signed), (2, vec![]));
    assert_eq!(names(&seats.state("other")), ["lane3-2", "lane3-1"]);
}

#[test]
fn a_parcel_from_before_there_were_signatures_is_read() {
    let mut bytes = Vec::new();
    ZlibDecoder::new(NOT_SIGNED).read_to_end(&mut bytes).unwrap();
    let seats = Seats::new();
    let file = seats.0.path().join("old");
    fs::write(&file, &bytes).unwrap();
    let taken = read(&seats, "teamB", &[&file], Trust::Known).unwrap();
    assert_eq!((taken.new, taken.not_listed, taken.not_signed), (1, 0, vec![file]));
    let state = seats.state("teamB");
    assert_eq!(names(&state), ["lane3-1"]);
    assert_eq!(state[0].1.exam.state().person.label.as_deref(), Some("K.M."));
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    assert!(Parcel::of_pipe(&bytes).is_err(), "its seal still counts");
}

#[test]
fn the_key_is_in_a_file_of_its_own_that_nobody_else_can_read() {
    let seats = Seats::new();
    let logbook = seats.open("lane3");
    let path: PathBuf = logbook.path().to_owned();
    let key = key_of(&path).unwrap();
    assert_eq!(key_of(&path).unwrap().public(), key.public(), "it is kept");
    let secret = fs::read_to_string(key_file(&path)).unwrap();
    let digits = secret.lines().last().unwrap();
    assert_eq!(digits.len(), 64);
    let stored = fs::read(&path).unwrap();
    let bytes = Hash::from_text(digits).unwrap();
    for needle in [digits.as_bytes(), bytes.as_bytes().as_slice()] {
        assert!(!stored.windows(needle.len()).any(|window| window == needle), "the logbook holds the key");
    }
    // a copy of the logbook alone signs by another
    let copy = seats.0.path().join("copy.db");
    logbook.copy_to(&copy).unwrap();
    assert_ne!(key_of(&copy).unwrap().public(), key.public());
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        let set = |mode| fs::set_permissions(key_file(&path), fs::Permissions::from_mode(mode)).unwrap();
        let mode = fs::metadata(key_file(&path)).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode, 0o600);
        for open in [0o640, 0o604, 0o660, 0o610] {
            set(open);
            let refusal = fault(key_of(&path).unwrap_err());
            assert!(matches!(refusal, ParcelFault::KeyOpenToOthers), "{open:o}: {refusal}");
        }
        set(0o600);
        assert_eq!(key_of(&path).unwrap().public(), key.public());
    }
    for bad in ["", "Dioptray seat key 1\n12\n", &secret.replace("key 1", "key 2"), &secret.replace('\n', "\nz")] {
        fs::write(key_file(&path), bad).unwrap();
        assert!(matches!(fault(key_of(&path).unwrap_err()), ParcelFault::NotAKey), "{bad}");
        assert_eq!(fs::read_to_string(key_file(&path)).unwrap(), bad, "it is left as it is");
    }
}
