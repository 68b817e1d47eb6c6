//! Antenna patterns from the command line, for comparing them with other programs:
//!
//! - `antenna msi FILE`: gain, −3 dB widths and front-to-back ratio of a pattern file
//! - `antenna dish D_OVER_LAMBDA ANGLE…`: ITU-R F.699
//! - `antenna sector GAIN WIDTH peak|average typical|improved AZIMUTH,ELEVATION…`: ITU-R F.1336
//! - `antenna element AZIMUTH,ELEVATION…`: TR 38.901
//!
//! One result a line.

use std::error::Error;

use radio::pattern::element::Element;
use radio::pattern::f699;
use radio::pattern::f1336::{Quality, Sector, SideLobes};
use radio::pattern::msi::Pattern;
use radio::{Db, Dbi, Degrees};

type Directions = Vec<(Degrees, Degrees)>;

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match words[..] {
        ["msi", file] => {
            let pattern = Pattern::parse(&std::fs::read_to_string(file)?)?;
            println!("gain_dbi {}", pattern.gain.0);
            for (plane, cut) in [
                ("horizontal", &pattern.horizontal),
                ("vertical", &pattern.vertical),
            ] {
                let width = cut
                    .width(Db(3.0))
                    .map_or("none".to_owned(), |width| width.0.to_string());
                println!("{plane}_width_deg {width}");
            }
            let back = pattern
                .horizontal
                .front_to_back()
                .map_or("none".to_owned(), |back| back.0.to_string());
            println!("front_to_back_db {back}");
        }
        ["dish", diameter, ref angles @ ..] => {
            for angle in angles {
                println!("{}", f699::gain(diameter.parse()?, Degrees(angle.parse()?))?.0);
            }
        }
        ["sector", gain, width, side_lobes, quality, ref pairs @ ..] => {
            let side_lobes = if side_lobes == "peak" {
                SideLobes::Peak
            } else {
                SideLobes::Average
            };
            let quality = if quality == "typical" {
                Quality::Typical
            } else {
                Quality::Improved
            };
            let sector = Sector::new(Dbi(gain.parse()?), Degrees(width.parse()?), side_lobes, quality)?;
            for (azimuth, elevation) in directions(pairs)? {
                println!("{}", sector.gain(azimuth, elevation)?.0);
            }
        }
        ["element", ref pairs @ ..] => {
            for (azimuth, elevation) in directions(pairs)? {
                println!("{}", Element::TR_38_901.gain(azimuth, elevation)?.0);
            }
        }
        _ => return Err("use: antenna msi|dish|sector|element …; see the head of the source".into()),
    }
    Ok(())
}

/// Pairs written AZIMUTH,ELEVATION.
fn directions(pairs: &[&str]) -> Result<Directions, Box<dyn Error>> {
    let pair = |text: &&str| {
        let (azimuth, elevation) = text.split_once(',').ok_or("a direction is AZIMUTH,ELEVATION")?;
        Ok((Degrees(azimuth.parse()?), Degrees(elevation.parse()?)))
    };
    pairs.iter().map(pair).collect()
}
