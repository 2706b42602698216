//! What the program proves itself with on the network: an authority of its own, and a certificate signed by it.
//!
//! The authority may vouch only for addresses of private networks and for this machine's names: a phone that trusts
//! it trusts nothing else by it. Both are kept in one file, written whole or not at all; a demo keeps nothing.

use crate::network::OWN;
use anyhow::{Context as _, bail};
use jiff::civil::Date;
use jiff::{Span, ToSpan};
use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DistinguishedName, DnType,
    ExtendedKeyUsagePurpose, GeneralSubtree, IsCa, Issuer, KeyPair, KeyUsagePurpose,
    NameConstraints, SanType, date_time_ymd,
};
use ring::digest;
use rustls::ServerConfig;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use serde::{Deserialize, Serialize};
use std::fs;
use std::io::Write as _;
use std::net::IpAddr;
use std::path::Path;
use std::sync::Arc;

/// Days a certificate is good for; more than 398 is refused by browsers (CA/Browser Forum, Baseline Requirements).
const GOOD_FOR: i64 = 397;
/// Days before its end at which a certificate is made anew.
const BEFORE_ITS_END: i64 = 30;
/// Years an authority is good for.
const AUTHORITY_GOOD_FOR: i64 = 10;
const FILE: &str = "identity.json";

/// A day as certificates have it. A macro, for the type of its result belongs to a crate that is not ours to name.
macro_rules! midnight {
    ($day:expr) => {{
        let day: Date = $day;
        date_time_ymd(day.year().into(), day.month() as u8, day.day() as u8)
    }};
}

/// Under what the machine is reached.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Names {
    /// Its addresses.
    pub addresses: Vec<IpAddr>,
    /// The name it gives itself.
    pub host: Option<String>,
}

impl Names {
    /// Every name of it, as it stands in an address.
    pub fn all(&self) -> Vec<String> {
        let hosts = self.host.iter();
        let hosts = hosts.flat_map(|host| [format!("{host}.local"), host.clone()]);
        let plain = |ip: &IpAddr| match ip {
            IpAddr::V4(v4) => v4.to_string(),
            IpAddr::V6(v6) => format!("[{v6}]"),
        };
        self.addresses.iter().map(plain).chain(hosts).collect()
    }
}

/// A key and what vouches for it, as kept.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Kept {
    /// What the authority is called; its certificate is signed with it.
    name: String,
    /// The host's name when the authority was made: the only bare name that it may vouch for.
    host: Option<String>,
    authority_until: Date,
    authority_key: String,
    authority: String,
    names: Vec<String>,
    until: Date,
    key: String,
    certificate: String,
}

/// What the program proves itself with.
#[derive(Debug)]
pub struct Identity {
    /// For the server.
    pub(crate) config: Arc<ServerConfig>,
    /// The authority's certificate, DER.
    pub authority: Vec<u8>,
    /// SHA-256 of the authority's certificate, as browsers show it.
    pub authority_print: String,
    /// SHA-256 of the certificate, as browsers show it.
    pub certificate_print: String,
    /// Names that it vouches for.
    pub names: Vec<String>,
    /// The last day of the certificate.
    pub until: Date,
}

impl Identity {
    /// What is kept in `folder`, made where it is missing and made anew where it no longer fits.
    ///
    /// # Errors
    /// The folder cannot be read or written, or holds something else.
    pub fn kept(folder: &Path, names: &Names, today: Date) -> anyhow::Result<Self> {
        let file = folder.join(FILE);
        let old = match fs::read_to_string(&file) {
            Ok(text) => Some(read(&text, &file)?),
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => None,
            Err(e) => return Err(e).with_context(|| format!("cannot read {}", file.display())),
        };
        let (kept, changed) = Kept::fitting(old, names, today)?;
        if changed {
            write(folder, &kept).with_context(|| format!("cannot write {}", file.display()))?;
        }
        kept.identity()
            .with_context(|| format!("what {} holds does not fit together", file.display()))
    }

    /// One that is nowhere kept.
    ///
    /// # Errors
    /// The system gives no random numbers.
    pub fn fleeting(names: &Names, today: Date) -> anyhow::Result<Self> {
        Kept::fitting(None, names, today)?.0.identity()
    }
}

impl Kept {
    /// The old one with a certificate that fits, and whether anything was made.
    fn fitting(old: Option<Self>, names: &Names, today: Date) -> anyhow::Result<(Self, bool)> {
        let old = old.filter(|old| days_left(today, old.authority_until) > GOOD_FOR);
        let fresh = old.is_none();
        let mut kept = match old {
            Some(old) => old,
            None => Self::authority(names.host.clone(), today)?,
        };
        // The authority may vouch for any name below "local", but for one bare name only.
        let mut all = names.all();
        if names.host != kept.host {
            all.retain(|name| Some(name) != names.host.as_ref());
        }
        let good = BEFORE_ITS_END < days_left(today, kept.until)
            && days_left(today, kept.until) <= GOOD_FOR
            && kept.names == all;
        if !fresh && good {
            return Ok((kept, false));
        }
        kept.sign(&names.addresses, all, today)?;
        Ok((kept, true))
    }

    fn authority(host: Option<String>, today: Date) -> anyhow::Result<Self> {
        let key = KeyPair::generate()?;
        // A part of its own key's hash tells it from another machine's authority.
        let own = digest::digest(&digest::SHA256, key.public_key_raw());
        let own: String = own.as_ref()[..3]
            .iter()
            .map(|b| format!("{b:02X}"))
            .collect();
        let mut kept = Self {
            name: format!("Spoolwright at home {own}"),
            host,
            authority_until: today.checked_add(AUTHORITY_GOOD_FOR.years())?,
            authority_key: key.serialize_pem(),
            authority: String::new(),
            names: Vec::new(),
            until: today,
            key: String::new(),
            certificate: String::new(),
        };
        let mut params = kept.authority_params();
        (params.not_before, params.not_after) = (
            midnight!(today.checked_sub(1.day())?),
            midnight!(kept.authority_until),
        );
        kept.authority = params.self_signed(&key)?.pem();
        Ok(kept)
    }

    fn authority_params(&self) -> CertificateParams {
        let mut params = CertificateParams::default();
        params.distinguished_name = called(&self.name);
        params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
        params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
        let networks = OWN.iter().map(|(address, prefix)| {
            GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(*address, *prefix))
        });
        let names = std::iter::once("local").chain(self.host.as_deref());
        params.name_constraints = Some(NameConstraints {
            permitted_subtrees: networks
                .chain(names.map(|n| GeneralSubtree::DnsName(n.into())))
                .collect(),
            excluded_subtrees: Vec::new(),
        });
        params
    }

    fn sign(
        &mut self,
        addresses: &[IpAddr],
        names: Vec<String>,
        today: Date,
    ) -> anyhow::Result<()> {
        let authority = KeyPair::from_pem(&self.authority_key)?;
        let issuer = Issuer::new(self.authority_params(), authority);
        let key = KeyPair::generate()?;
        let mut params = CertificateParams::default();
        params.distinguished_name = called("Spoolwright");
        params.subject_alt_names = addresses.iter().map(|ip| SanType::IpAddress(*ip)).collect();
        for name in names.iter().skip(addresses.len()) {
            params
                .subject_alt_names
                .push(SanType::DnsName(name.as_str().try_into()?));
        }
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.use_authority_key_identifier_extension = true;
        self.until = today.checked_add(Span::new().days(GOOD_FOR - 1))?;
        (params.not_before, params.not_after) = (
            midnight!(today.checked_sub(1.day())?),
            midnight!(self.until),
        );
        self.certificate = params.signed_by(&key, &issuer)?.pem();
        self.key = key.serialize_pem();
        self.names = names;
        Ok(())
    }

    fn identity(&self) -> anyhow::Result<Identity> {
        let certificate = CertificateDer::from_pem_slice(self.certificate.as_bytes())?;
        let authority = CertificateDer::from_pem_slice(self.authority.as_bytes())?;
        let key = PrivateKeyDer::from_pem_slice(self.key.as_bytes())?;
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let (certificate_print, authority_print) = (print_of(&certificate), print_of(&authority));
        let mut config = ServerConfig::builder_with_provider(provider)
            .with_protocol_versions(&[&rustls::version::TLS13, &rustls::version::TLS12])?
            .with_no_client_auth()
            .with_single_cert(vec![certificate, authority.clone()], key)?;
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(Identity {
            config: Arc::new(config),
            authority: authority.to_vec(),
            authority_print,
            certificate_print,
            names: self.names.clone(),
            until: self.until,
        })
    }
}

fn called(name: &str) -> DistinguishedName {
    let mut called = DistinguishedName::new();
    called.push(DnType::CommonName, name);
    called
}

fn days_left(today: Date, until: Date) -> i64 {
    (until - today).get_days().into()
}

/// SHA-256 in pairs, as browsers show it.
fn print_of(der: &[u8]) -> String {
    let hash = digest::digest(&digest::SHA256, der);
    let pairs: Vec<String> = hash.as_ref().iter().map(|b| format!("{b:02X}")).collect();
    pairs.join(":")
}

fn read(text: &str, file: &Path) -> anyhow::Result<Kept> {
    let Ok(kept) = serde_json::from_str(text) else {
        bail!(
            "{} is not what this program wrote there. Move it away: a new authority is made then, which every device \
             that trusted the old one has to be told to trust",
            file.display()
        );
    };
    Ok(kept)
}

/// Writes beside, then into place; nobody but its owner may read it.
fn write(folder: &Path, kept: &Kept) -> anyhow::Result<()> {
    let mut making = fs::DirBuilder::new();
    let mut opening = fs::OpenOptions::new();
    making.recursive(true);
    opening.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::{DirBuilderExt as _, OpenOptionsExt as _};
        making.mode(0o700);
        opening.mode(0o600);
    }
    making.create(folder)?;
    // Two programs that begin at once write a file of their own each.
    let part = folder.join(format!("{FILE}.{}.part", std::process::id()));
    if part.exists() {
        fs::remove_file(&part)?;
    }
    let mut file = opening.open(&part)?;
    file.write_all(&serde_json::to_vec_pretty(kept)?)?;
    file.sync_all()?;
    drop(file);
    Ok(fs::rename(&part, folder.join(FILE))?)
}
