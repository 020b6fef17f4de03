//! The server's own encryption: a certificate and its key, and connections that are handed on once they are encrypted.

use std::io;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use axum::serve::Listener;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::mpsc;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::crypto::ring::default_provider;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};
use tokio_rustls::server::TlsStream;

use crate::error::WebError;

/// A certificate with those that vouch for it, and its key, as PEM.
#[derive(Clone)]
pub struct TlsPem {
    /// The certificate first.
    pub certificate: Vec<u8>,
    /// Its private key.
    pub key: Vec<u8>,
}

impl std::fmt::Debug for TlsPem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // The key stays out of every log.
        f.debug_struct("TlsPem").finish_non_exhaustive()
    }
}

/// Longest time for the two sides to agree on keys.
const LONGEST_GREETING: Duration = Duration::from_secs(10);
/// Connections that may wait for the server.
const WAITING: usize = 64;

fn unusable(what: &'static str) -> impl Fn(String) -> WebError {
    move |reason| WebError::Certificate { what, reason }
}

/// What greets with the certificate.
pub(crate) fn acceptor(pem: &TlsPem) -> Result<TlsAcceptor, WebError> {
    let chain = CertificateDer::pem_slice_iter(&pem.certificate)
        .collect::<Result<Vec<_>, _>>()
        .map_err(|e| unusable("certificate")(e.to_string()))?;
    if chain.is_empty() {
        return Err(unusable("certificate")("no certificate in it; allowed: PEM".to_owned()));
    }
    let key = PrivateKeyDer::from_pem_slice(&pem.key).map_err(|e| unusable("key")(e.to_string()))?;
    let wrong = |e: tokio_rustls::rustls::Error| unusable("certificate and key")(e.to_string());
    let mut config = ServerConfig::builder_with_provider(Arc::new(default_provider()))
        .with_safe_default_protocol_versions()
        .map_err(wrong)?
        .with_no_client_auth()
        .with_single_cert(chain, key)
        .map_err(wrong)?;
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Ok(TlsAcceptor::from(Arc::new(config)))
}

/// A listener whose connections are encrypted.
pub(crate) struct TlsListener {
    ready: mpsc::Receiver<(TlsStream<TcpStream>, SocketAddr)>,
    address: SocketAddr,
}

impl TlsListener {
    /// Greets every visitor on a task of its own, so that a slow one keeps nobody waiting.
    pub(crate) fn new(listener: TcpListener, acceptor: TlsAcceptor) -> io::Result<Self> {
        let address = listener.local_addr()?;
        let (hand_on, ready) = mpsc::channel(WAITING);
        tokio::spawn(async move {
            let mut listener = listener;
            while !hand_on.is_closed() {
                let (stream, from) = Listener::accept(&mut listener).await;
                let (acceptor, hand_on) = (acceptor.clone(), hand_on.clone());
                tokio::spawn(async move {
                    if let Ok(Ok(stream)) =
                        tokio::time::timeout(LONGEST_GREETING, acceptor.accept(stream)).await
                    {
                        // The server may have ended meanwhile.
                        let _ = hand_on.send((stream, from)).await;
                    }
                });
            }
        });
        Ok(Self { ready, address })
    }
}

impl Listener for TlsListener {
    type Io = TlsStream<TcpStream>;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Self::Io, Self::Addr) {
        match self.ready.recv().await {
            Some(connection) => connection,
            // Nobody greets any more: the server is ending.
            None => std::future::pending().await,
        }
    }

    fn local_addr(&self) -> io::Result<Self::Addr> {
        Ok(self.address)
    }
}

#[cfg(test)]
mod tests {
    use std::io::{Read, Write};

    use axum::Router;
    use axum::routing::get;
    use tokio_rustls::rustls::{ClientConfig, ClientConnection, RootCertStore, StreamOwned};

    use super::*;

    fn made() -> (TlsPem, CertificateDer<'static>) {
        let made = rcgen::generate_simple_self_signed(["localhost".to_owned()]).expect("a certificate");
        let pem = TlsPem {
            certificate: made.cert.pem().into_bytes(),
            key: made.signing_key.serialize_pem().into_bytes(),
        };
        (pem, made.cert.der().clone())
    }

    #[tokio::test]
    async fn identity_a_page_over_an_encrypted_connection_while_a_silent_one_waits() {
        let (pem, certificate) = made();
        let tcp = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let address = tcp.local_addr().expect("an address");
        let listener = TlsListener::new(tcp, acceptor(&pem).expect("usable")).expect("a listener");
        let app = Router::new().route("/", get(|| async { "hello" }));
        tokio::spawn(async move { axum::serve(listener, app).await });
        // Somebody who connects and says nothing keeps nobody else out.
        let _silent = TcpStream::connect(address).await.expect("connected");

        let mut roots = RootCertStore::empty();
        roots.add(certificate).expect("a root");
        let config = ClientConfig::builder_with_provider(Arc::new(default_provider()))
            .with_safe_default_protocol_versions()
            .expect("versions")
            .with_root_certificates(roots)
            .with_no_client_auth();
        let asked = tokio::task::spawn_blocking(move || {
            let name = "localhost".try_into().expect("a name");
            let client = ClientConnection::new(Arc::new(config), name).expect("a client");
            let stream = std::net::TcpStream::connect(address).expect("connected");
            let mut stream = StreamOwned::new(client, stream);
            stream
                .write_all(b"GET / HTTP/1.1\r\nhost: localhost\r\nconnection: close\r\n\r\n")
                .expect("asked");
            let mut answer = Vec::new();
            // A server may end without a farewell; what counts is the answer.
            let _ = stream.read_to_end(&mut answer);
            answer
        });
        let answer = asked.await.expect("answered");
        assert!(String::from_utf8_lossy(&answer).ends_with("hello"), "{answer:?}");
    }

    #[test]
    fn refuse_what_is_no_certificate_and_keys_that_do_not_fit() {
        let ((good, _), (other, _)) = (made(), made());
        let empty = TlsPem { certificate: b"nothing".to_vec(), key: good.key.clone() };
        let no_key = TlsPem { certificate: good.certificate.clone(), key: b"nothing".to_vec() };
        let apart = TlsPem { certificate: good.certificate, key: other.key };
        for (pem, what) in [(empty, "certificate"), (no_key, "key"), (apart, "certificate and key")] {
            let said = acceptor(&pem).err().expect("refused").to_string();
            assert!(said.starts_with(&format!("{what}: cannot be used: ")), "{said}");
            assert!(!format!("{pem:?}").contains("BEGIN"));
        }
    }
}
