//! Reaching PostgreSQL, plain or by TLS.
//!
//! The words in a URL are those of PostgreSQL: `sslmode=disable` (also when
//! left out), `require` (TLS, whoever the server is; with `sslrootcert` its
//! certificate has to come from there) and `verify-full` (the certificate has
//! to be for the host that was asked for too). `sslrootcert` names a PEM file;
//! without it the roots of this machine count.

use super::DatabaseError;
use postgres::{Client, Config, NoTls, config::SslMode};
use rustls::{
    CertificateError, ClientConfig, DigitallySignedStruct, Error, RootCertStore, SignatureScheme,
    client::{
        WebPkiServerVerifier,
        danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier},
    },
    crypto::{CryptoProvider, ring, verify_tls12_signature, verify_tls13_signature},
    pki_types::{CertificateDer, ServerName, UnixTime, pem::PemObject as _},
};
use std::sync::Arc;
use tokio_postgres_rustls::MakeRustlsConnect;

/// How a database is reached.
#[derive(Clone)]
pub(crate) struct Reached {
    pub(crate) config: Config,
    tls: Option<MakeRustlsConnect>,
}

impl Reached {
    /// By the words of a URL.
    pub(crate) fn by(url: &str) -> Result<Self, DatabaseError> {
        let (plain, asked) = Asked::of(url)?;
        let mut config: Config = plain.parse()?;
        config.application_name("matewell");
        let tls = match asked.mode {
            Mode::Disable => {
                config.ssl_mode(SslMode::Disable);
                None
            }
            mode => {
                config.ssl_mode(SslMode::Require);
                Some(MakeRustlsConnect::new(client_config(mode, asked.roots.as_deref())?))
            }
        };
        Ok(Self { config, tls })
    }

    /// Connects.
    pub(crate) fn connect(&self) -> Result<Client, postgres::Error> {
        match &self.tls {
            None => self.config.connect(NoTls),
            Some(tls) => self.config.connect(tls.clone()),
        }
    }
}

/// The name of the database of a URL.
pub(crate) fn database_of(url: &str) -> Option<String> {
    let (plain, _) = Asked::of(url).ok()?;
    plain.parse::<Config>().ok()?.get_dbname().map(str::to_owned)
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mode {
    Disable,
    Require,
    VerifyFull,
}

/// What a URL says about TLS.
#[derive(Debug, PartialEq, Eq)]
struct Asked {
    mode: Mode,
    roots: Option<String>,
}

impl Asked {
    /// Takes what the driver does not read out of a URL.
    fn of(url: &str) -> Result<(String, Self), DatabaseError> {
        let mut asked = Self { mode: Mode::Disable, roots: None };
        let Some((place, query)) = url.split_once('?') else { return Ok((url.to_owned(), asked)) };
        let mut rest: Vec<&str> = Vec::new();
        for pair in query.split('&') {
            match pair.split_once('=') {
                Some(("sslmode", word)) => {
                    asked.mode = match word {
                        "disable" => Mode::Disable,
                        "require" => Mode::Require,
                        "verify-full" => Mode::VerifyFull,
                        _ => {
                            return Err(DatabaseError::Tls(format!(
                                "expected sslmode to be disable, require or verify-full, found \"{word}\""
                            )));
                        }
                    }
                }
                Some(("sslrootcert", file)) => asked.roots = Some(percent_decoded(file)),
                _ => rest.push(pair),
            }
        }
        if asked.roots.is_some() && asked.mode == Mode::Disable {
            return Err(DatabaseError::Tls(
                "expected sslmode=require or sslmode=verify-full beside sslrootcert, found neither"
                    .to_owned(),
            ));
        }
        let plain = if rest.is_empty() { place.to_owned() } else { format!("{place}?{}", rest.join("&")) };
        Ok((plain, asked))
    }
}

fn percent_decoded(text: &str) -> String {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let [first, after @ ..] = rest {
        let two = after.get(..2).and_then(|two| std::str::from_utf8(two).ok());
        match two.and_then(|two| u8::from_str_radix(two, 16).ok()) {
            Some(byte) if *first == b'%' => {
                bytes.push(byte);
                rest = after.get(2..).unwrap_or_default();
            }
            _ => {
                bytes.push(*first);
                rest = after;
            }
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

fn client_config(mode: Mode, roots: Option<&str>) -> Result<ClientConfig, DatabaseError> {
    let provider = Arc::new(ring::default_provider());
    let failed = |error: Error| DatabaseError::Tls(error.to_string());
    let builder = ClientConfig::builder_with_provider(Arc::clone(&provider))
        .with_safe_default_protocol_versions()
        .map_err(failed)?;
    if mode == Mode::VerifyFull {
        return Ok(builder.with_root_certificates(root_store(roots)?).with_no_client_auth());
    }
    let chain = match roots {
        None => None,
        Some(file) => Some(
            WebPkiServerVerifier::builder_with_provider(
                Arc::new(root_store(Some(file))?),
                Arc::clone(&provider),
            )
            .build()
            .map_err(|error| DatabaseError::Tls(error.to_string()))?,
        ),
    };
    Ok(builder
        .dangerous()
        .with_custom_certificate_verifier(Arc::new(AnyName { chain, provider }))
        .with_no_client_auth())
}

/// The roots of a file, or of this machine.
fn root_store(file: Option<&str>) -> Result<RootCertStore, DatabaseError> {
    let mut roots = RootCertStore::empty();
    let Some(file) = file.filter(|file| *file != "system") else {
        let (_, _) = roots.add_parsable_certificates(rustls_native_certs::load_native_certs().certs);
        return Ok(roots);
    };
    let unreadable = |found: String| {
        DatabaseError::Tls(format!(
            "expected certificates (PEM) in the file {file} of sslrootcert, found {found}"
        ))
    };
    let read = CertificateDer::pem_file_iter(file).map_err(|error| unreadable(error.to_string()))?;
    for certificate in read {
        let certificate = certificate.map_err(|error| unreadable(error.to_string()))?;
        roots.add(certificate).map_err(|error| unreadable(error.to_string()))?;
    }
    if roots.is_empty() { Err(unreadable("none".to_owned())) } else { Ok(roots) }
}

/// Of `sslmode=require`: the server has to hold the key of its certificate, and
/// where roots are given the certificate has to come from them; for which name
/// does not matter.
#[derive(Debug)]
struct AnyName {
    chain: Option<Arc<WebPkiServerVerifier>>,
    provider: Arc<CryptoProvider>,
}

impl ServerCertVerifier for AnyName {
    fn verify_server_cert(
        &self,
        end_entity: &CertificateDer<'_>,
        intermediates: &[CertificateDer<'_>],
        server_name: &ServerName<'_>,
        ocsp_response: &[u8],
        now: UnixTime,
    ) -> Result<ServerCertVerified, Error> {
        let Some(chain) = &self.chain else { return Ok(ServerCertVerified::assertion()) };
        match chain.verify_server_cert(end_entity, intermediates, server_name, ocsp_response, now) {
            Err(Error::InvalidCertificate(
                CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. },
            )) => Ok(ServerCertVerified::assertion()),
            found => found,
        }
    }

    fn verify_tls12_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        verify_tls12_signature(message, certificate, signed, &self.provider.signature_verification_algorithms)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        verify_tls13_signature(message, certificate, signed, &self.provider.signature_verification_algorithms)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.provider.signature_verification_algorithms.supported_schemes()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_about_tls_is_taken_out_of_a_url() {
        let (plain, asked) =
            Asked::of("postgresql://wren@db.example/lab?sslmode=verify-full&host=x&sslrootcert=/a%20b.pem")
                .unwrap();
        assert_eq!(plain, "postgresql://wren@db.example/lab?host=x");
        assert_eq!(asked, Asked { mode: Mode::VerifyFull, roots: Some("/a b.pem".to_owned()) });
        let (plain, asked) = Asked::of("postgresql:///lab").unwrap();
        assert_eq!((plain.as_str(), asked.mode), ("postgresql:///lab", Mode::Disable));
        assert_eq!(database_of("postgresql://h/lab?sslmode=require").as_deref(), Some("lab"));
    }

    #[test]
    fn a_word_that_would_leave_tls_out_unseen_is_refused() {
        for (query, found) in [("sslmode=prefer", "\"prefer\""), ("sslrootcert=/x.pem", "neither")] {
            let error = Asked::of(&format!("postgresql://h/lab?{query}")).unwrap_err().to_string();
            assert!(error.contains("expected sslmode") && error.contains(found), "{error}");
        }
    }
}
