//! How a connection is encrypted: always, except on this computer.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use rustls::crypto::ring;
use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject as _;
use rustls::{ClientConfig, RootCertStore};
use tokio_postgres_rustls::MakeRustlsConnect;

use super::error::RoomError;

/// Where systems keep the certificates they trust, as one file (common practice, no source).
const OF_THE_SYSTEM: [&str; 3] =
    ["/etc/ssl/certs/ca-certificates.crt", "/etc/pki/tls/certs/ca-bundle.crt", "/etc/ssl/cert.pem"];

/// What checks who answers: by the certificates in this file, or by those that the system trusts.
///
/// # Errors
/// When there are none.
pub fn checked_by(certificate: Option<&Path>) -> Result<MakeRustlsConnect, RoomError> {
    let system = || OF_THE_SYSTEM.iter().map(Path::new).find(|file| file.exists());
    let file = certificate.or_else(system).ok_or_else(|| RoomError::File {
        path: OF_THE_SYSTEM[0].into(),
        reason: "this system has no file of certificates here: name one with --certificate FILE".to_owned(),
    })?;
    let failed = |reason: String| RoomError::File { path: file.to_owned(), reason };
    let bytes = fs::read(file).map_err(|error| failed(error.to_string()))?;
    let mut roots = RootCertStore::empty();
    for found in CertificateDer::pem_slice_iter(&bytes) {
        let found = found.map_err(|error| failed(format!("this is no file of certificates (PEM): {error}")))?;
        // of the many of a system some are of a kind that is not read
        let added = roots.add(found);
        if certificate.is_some() {
            added.map_err(|error| failed(format!("a certificate in it cannot be used: {error}")))?;
        }
    }
    if roots.is_empty() {
        return Err(failed("there is no certificate (PEM) in it".to_owned()));
    }
    let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .map_err(|error| failed(error.to_string()))?
        .with_root_certificates(roots)
        .with_no_client_auth();
    Ok(MakeRustlsConnect::new(config))
}
