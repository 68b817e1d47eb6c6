//! A certificate of our own for this session. Nobody vouches for it: the person compares its fingerprint.

use rcgen::{CertificateParams, DistinguishedName, DnType, KeyPair, SanType};
use ring::digest::{SHA256, digest};
use std::net::IpAddr;
use std::sync::Arc;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::crypto::ring::default_provider;
use tokio_rustls::rustls::pki_types::PrivateKeyDer;

/// The certificate cannot be made.
#[derive(Debug, thiserror::Error)]
pub enum TlsError {
    /// The certificate itself.
    #[error("share: make a certificate: {0}; leave --share-tls out")]
    Certificate(#[from] rcgen::Error),
    /// Its use.
    #[error("share: use the certificate: {0}; leave --share-tls out")]
    Use(#[from] tokio_rustls::rustls::Error),
}

/// A new certificate for these addresses, and its fingerprint (SHA-256, as browsers show it).
pub(super) fn acceptor(ips: &[IpAddr]) -> Result<(TlsAcceptor, String), TlsError> {
    let mut params = CertificateParams::default();
    params.distinguished_name = DistinguishedName::new();
    params
        .distinguished_name
        .push(DnType::CommonName, "Loopmargin, this session");
    params.subject_alt_names = ips.iter().copied().map(SanType::IpAddress).collect();
    let key = KeyPair::generate()?;
    let certificate = params.self_signed(&key)?.der().clone();
    let fingerprint = fingerprint(&certificate);
    let key = PrivateKeyDer::try_from(key.serialize_der())
        .map_err(|why| tokio_rustls::rustls::Error::General(why.to_owned()))?;
    let mut config = ServerConfig::builder_with_provider(Arc::new(default_provider()))
        .with_safe_default_protocol_versions()?
        .with_no_client_auth()
        .with_single_cert(vec![certificate], key)?;
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Ok((TlsAcceptor::from(Arc::new(config)), fingerprint))
}

/// Bytes as pairs of digits.
fn fingerprint(certificate: &[u8]) -> String {
    let bytes = digest(&SHA256, certificate);
    let pairs: Vec<String> = bytes.as_ref().iter().map(|b| format!("{b:02X}")).collect();
    pairs.join(":")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_session_has_its_own_certificate() {
        let make = || acceptor(&[[192, 168, 4, 1].into()]).unwrap().1;
        let (a, b) = (make(), make());
        assert_ne!(a, b);
        assert_eq!(a.len(), 32 * 3 - 1);
    }

    #[test]
    fn a_fingerprint_is_the_sha_256_of_the_bytes() {
        // FIPS 180-2, "abc".
        assert!(fingerprint(b"abc").starts_with("BA:78:16:BF:8F:01:CF:EA"));
    }
}
