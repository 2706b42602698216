//! What this machine is called on its own network, and which addresses count as such a network's.
//!
//! It looks and tells; it opens nothing.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};

/// The port on the network that is tried first.
pub const PORT: u16 = 7436;

/// How the pages are to be served to one's own network.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wish {
    /// Under which addresses of this machine; at least one.
    pub addresses: Vec<IpAddr>,
    /// What the machine is called, if it can stand in an address.
    pub host: Option<String>,
    /// The port tried first; 0 is any free one.
    pub port: u16,
}

/// What the person at the terminal is told of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Beside {
    /// Every address the pages answer at, such as `https://192.168.1.20:7436`.
    pub origins: Vec<String>,
    /// SHA-256 of the certificate, as browsers show it.
    pub certificate: String,
    /// SHA-256 of the authority that signed it.
    pub authority: String,
    /// The one-time code for the first device.
    pub code: String,
    /// The address that fills the code in.
    pub pair: String,
    /// The address that labels print in their codes, when it is none of these.
    pub labels: Option<String>,
}

/// Networks that no router hands on to the world, each with the length of its prefix: RFC 1918, loopback
/// (RFC 1122, RFC 4291), link-local (RFC 3927), shared (RFC 6598), unique local (RFC 4193).
pub(crate) const OWN: [(IpAddr, u8); 8] = [
    (IpAddr::V4(Ipv4Addr::new(10, 0, 0, 0)), 8),
    (IpAddr::V4(Ipv4Addr::new(172, 16, 0, 0)), 12),
    (IpAddr::V4(Ipv4Addr::new(192, 168, 0, 0)), 16),
    (IpAddr::V4(Ipv4Addr::new(127, 0, 0, 0)), 8),
    (IpAddr::V4(Ipv4Addr::new(169, 254, 0, 0)), 16),
    (IpAddr::V4(Ipv4Addr::new(100, 64, 0, 0)), 10),
    (IpAddr::V6(Ipv6Addr::new(0xfc00, 0, 0, 0, 0, 0, 0, 0)), 7),
    (IpAddr::V6(Ipv6Addr::LOCALHOST), 128),
];

/// Whether an address lies in a network of one's own.
pub fn is_own(address: IpAddr) -> bool {
    let bits = |a: IpAddr| match a {
        IpAddr::V4(v4) => (u128::from(v4.to_bits()) << 96, 4),
        IpAddr::V6(v6) => (v6.to_bits(), 6),
    };
    let (given, family) = bits(address);
    OWN.iter().any(|&(network, prefix)| {
        let (network, of) = bits(network);
        of == family && (given ^ network) >> (128 - u32::from(prefix)) == 0
    })
}

/// The addresses of this machine that others in the house can reach it by, IPv4 first.
///
/// # Errors
/// The system does not tell its addresses.
pub fn addresses() -> std::io::Result<Vec<IpAddr>> {
    let mut all: Vec<IpAddr> = if_addrs::get_if_addrs()?
        .into_iter()
        .filter(|i| i.is_oper_up() && !i.is_loopback() && !i.is_link_local())
        .map(|i| i.ip())
        .filter(|ip| is_own(*ip))
        .collect();
    all.sort();
    all.dedup();
    Ok(all)
}

/// The name this machine gives itself, if it can stand in an address.
pub fn host_name() -> Option<String> {
    let full = gethostname::gethostname().into_string().ok()?;
    let name = full.split('.').next()?.to_ascii_lowercase();
    let fits = !name.is_empty()
        && name.len() <= 63
        && !name.starts_with('-')
        && !name.ends_with('-')
        && name != "localhost"
        && name.chars().any(|c| c.is_ascii_alphabetic())
        && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
    fits.then_some(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn own_networks_and_the_world() {
        for own in [
            "10.0.0.1",
            "172.16.0.1",
            "172.31.255.254",
            "192.168.178.20",
            "127.0.0.2",
            "169.254.9.9",
            "100.64.0.1",
            "fd12:3456::1",
            "::1",
        ] {
            assert!(is_own(own.parse().unwrap()), "{own}");
        }
        for world in [
            "0.0.0.0",
            "::",
            "8.8.8.8",
            "172.32.0.1",
            "192.169.0.1",
            "100.128.0.1",
            "2001:db8::1",
            "fe80::1",
            "::ffff:10.0.0.1",
        ] {
            assert!(!is_own(world.parse().unwrap()), "{world}");
        }
    }
}
