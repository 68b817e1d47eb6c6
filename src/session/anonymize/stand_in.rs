//! Stand-ins: what is put in place of what is replaced. The same original always gets the same one.

use booster_profile::Plmn;
use hmac::{Hmac, Mac};
use sha2::Sha256;
use std::collections::{BTreeMap, BTreeSet};

/// Country code of the stand-ins: ITU-T E.212 sets 999 aside for private networks, so it is nobody's.
const PRIVATE_COUNTRY: u16 = 999;
const NETWORKS: u64 = 1_000;

/// Gives stand-ins and remembers them.
///
/// Without a key they are numbered in the order in which the originals appear: they say nothing, and another file
/// begins anew. With a key they are a keyed hash (HMAC-SHA-256, RFC 2104) of the original: the same in every file,
/// and nobody without the key can find out by trying which serial number it was.
#[derive(Debug)]
pub struct StandIns {
    key: Option<Hmac<Sha256>>,
    texts: BTreeMap<(&'static str, String), String>,
    /// How many of each kind there are.
    counts: BTreeMap<&'static str, u64>,
    operators: BTreeMap<Plmn, Plmn>,
    networks: BTreeSet<u64>,
}

impl StandIns {
    /// Stand-ins numbered within one file.
    pub fn numbered() -> Self {
        Self::new(None)
    }

    /// Stand-ins that are the same in every file anonymised with this key. Any length will do; it should be random
    /// and kept secret. `None` for an empty key.
    pub fn keyed(key: &[u8]) -> Option<Self> {
        let key = Some(key).filter(|key| !key.is_empty())?;
        Some(Self::new(Some(Hmac::new_from_slice(key).ok()?)))
    }

    fn new(key: Option<Hmac<Sha256>>) -> Self {
        Self {
            key,
            texts: BTreeMap::new(),
            counts: BTreeMap::new(),
            operators: BTreeMap::new(),
            networks: BTreeSet::new(),
        }
    }

    /// How many different originals of each kind were replaced.
    pub fn counts(&self) -> BTreeMap<&'static str, u64> {
        let mut counts = self.counts.clone();
        if !self.operators.is_empty() {
            counts.insert("operator", self.operators.len() as u64);
        }
        counts
    }

    pub(super) fn text(&mut self, kind: &'static str, original: &str) -> String {
        if let Some(known) = self.texts.get(&(kind, original.to_owned())) {
            return known.clone();
        }
        let count = self.counts.entry(kind).or_default();
        *count += 1;
        let number = *count;
        let stand_in = match self.hash(kind, original.as_bytes()) {
            Some(hash) => format!("{kind}-{:010x}", hash >> 24),
            None => format!("{kind}-{number}"),
        };
        self.texts.insert((kind, original.to_owned()), stand_in.clone());
        stand_in
    }

    /// Operators that differ get codes that differ: it matters to what is found.
    pub(super) fn operator(&mut self, original: Plmn) -> Plmn {
        if let Some(known) = self.operators.get(&original) {
            return *known;
        }
        let hash = self
            .hash("operator", &original.0)
            .unwrap_or(self.operators.len() as u64 + 1);
        let free = (hash..hash.saturating_add(NETWORKS))
            .map(|n| n % NETWORKS)
            .find(|n| self.networks.insert(*n));
        // After a thousand operators in one file the rest share "not known".
        let stand_in = free
            .and_then(|n| Plmn::new(PRIVATE_COUNTRY, u16::try_from(n).ok()?, true))
            .unwrap_or(Plmn::NOT_KNOWN);
        self.operators.insert(original, stand_in);
        stand_in
    }

    /// The first eight bytes of the keyed hash; `None` without a key.
    fn hash(&self, kind: &str, original: &[u8]) -> Option<u64> {
        let mut mac = self.key.clone()?;
        for part in [kind.as_bytes(), b"\0", original] {
            mac.update(part);
        }
        let hash = mac.finalize().into_bytes();
        hash.first_chunk().map(|bytes| u64::from_be_bytes(*bytes))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_original_gets_the_same_stand_in() {
        let mut s = StandIns::numbered();
        let given = ["Aula", "Depot", "Aula"].map(|t| s.text("room", t));
        assert_eq!(given, ["room-1", "room-2", "room-1"]);
        assert_eq!(s.text("spot", "Aula"), "spot-1");
        assert_eq!(s.counts(), BTreeMap::from([("room", 2), ("spot", 1)]));
    }

    #[test]
    fn a_key_makes_it_the_same_in_every_file() {
        let keyed = |key: &[u8]| StandIns::keyed(key).unwrap();
        let (mut a, mut b, mut other) = (keyed(b"one"), keyed(b"one"), keyed(b"two"));
        b.text("room", "Depot");
        assert_eq!(a.text("room", "Aula"), b.text("room", "Aula"));
        assert_ne!(a.text("room", "Aula"), other.text("room", "Aula"));
        assert!(StandIns::keyed(b"").is_none());
    }

    #[test]
    fn operators_stay_apart_and_are_nobodys() {
        for mut s in [StandIns::numbered(), StandIns::keyed(b"k").unwrap()] {
            let originals: Vec<Plmn> = (0..990).filter_map(|n| Plmn::new(n, 1, false)).collect();
            let stand_ins: BTreeSet<Plmn> = originals.iter().map(|p| s.operator(*p)).collect();
            assert_eq!(stand_ins.len(), originals.len());
            assert!(stand_ins.iter().all(|p| p.to_string().starts_with("999")));
        }
    }
}
