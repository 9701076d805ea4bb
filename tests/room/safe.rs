//! Passwords and certificates: nothing goes out in the open, and nobody is taken for the room who is not.

use std::fs;
use std::process::Command;

use dioptray::room::prepare::Role;

use super::Tested;
use super::seat::Seat;
use super::server::{Server, SharedRoom, certificate};

#[test]
fn a_password_is_taken_from_a_file_of_ones_own_alone() -> Tested {
    let room = SharedRoom::new("secrets", &[])?;
    let seat = Seat::new("lane1", &room.login("a"))?;
    let address = room.address("a")?;
    let with_password = address.replace('@', ":secret@");
    let said = seat.say(&["room", "join", &with_password, "--seat", "lane1"])?;
    assert!(said.code == Some(1) && said.err.contains("password in it is not taken"), "{said:?}");
    assert!(!said.err.contains("secret@"), "{said:?}");
    let open = Command::new("chmod").arg("644").arg(seat.file("password")).status()?;
    assert!(open.success());
    let said = seat.say(&["room", "join", &address, "--seat", "lane1"])?;
    assert!(said.code == Some(1) && said.err.contains("others on this computer can read"), "{said:?}");
    seat.keep_password("wrong")?;
    let said = seat.say(&["room", "join", &address, "--seat", "lane1"])?;
    assert!(said.code == Some(1) && said.err.contains("does not let"), "{said:?}");
    assert!(!seat.file("room-logbook.yaml").exists(), "nothing is kept of a room that was not joined");
    // in the folder of the settings it is found without a variable
    fs::create_dir_all(seat.file("settings").join("dioptray"))?;
    seat.keep_password(&room.login("a"))?;
    fs::rename(seat.file("password"), seat.file("settings").join("dioptray").join("room.password"))?;
    let mut command = seat.command(&["room", "join", &address, "--seat", "lane1"]);
    let output = command.env_remove("DIOPTRAY_ROOM_PASSWORD_FILE").output()?;
    assert!(output.status.success(), "{output:?}");
    let kept = fs::read_to_string(seat.file("room-logbook.yaml"))?;
    assert!(!kept.contains("password"), "{kept}");
    Ok(())
}

#[test]
fn who_answers_is_checked_by_certificate_and_name() -> Tested {
    let folder = tempfile::tempdir()?;
    let (right, key) = certificate(folder.path(), "IP:127.0.0.1")?;
    let (other, _) = certificate(folder.path(), "IP:127.0.0.1")?;
    let (elsewhere, key_of_elsewhere) = certificate(folder.path(), "DNS:clinic.example")?;
    let server = Server::start("")?;
    server.room("room", &[("a", Role::Examiner, None)])?;
    let seat = Seat::new("lane1", "a")?;
    let address = server.address("a", "room");
    for (name, content) in [("right.pem", &right), ("other.pem", &other), ("elsewhere.pem", &elsewhere)] {
        fs::write(seat.file(name), content)?;
    }
    let join = |certificate: &str| {
        seat.say(&["room", "join", &address, "--seat", "lane1", "--certificate", Seat::path(&seat.file(certificate))?])
    };
    // a server without encryption is not spoken to, password and all
    let said = join("right.pem")?;
    assert!(said.code == Some(1) && said.err.contains("is not safe"), "{said:?}");
    server.encrypts(&right, &key)?;
    let said = join("other.pem")?;
    assert!(said.code == Some(1) && said.err.contains("is not safe") && said.err.contains("--certificate"), "{said:?}");
    let said = join("right.pem")?;
    assert_eq!(said.code, Some(0), "{said:?}");
    seat.close_an_exam("K.M.")?;
    assert_eq!(seat.round()?["unsent"], 0);
    let is_encrypted = server.owner("room")?.call("SELECT count(*) FROM room.entry", &[])?;
    assert_eq!(is_encrypted[0].get::<_, i64>(0), 1);
    // the certificate is known, but it is another computer's
    server.encrypts(&elsewhere, &key_of_elsewhere)?;
    let said = join("elsewhere.pem")?;
    assert!(said.code == Some(1) && said.err.contains("is not safe"), "{said:?}");
    Ok(())
}
