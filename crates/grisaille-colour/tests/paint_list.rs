//! Lists of paints with every habit of spreadsheets: read, or explained with
//! the line and a way out.

use grisaille_base::{Code, Place};
use grisaille_colour::{Finish, Paint, hex_of, read_paints};
use proptest::prelude::*;

/// Name, colour and finish of each paint, in a line.
fn told(paints: &[Paint]) -> Vec<String> {
    paints.iter().map(|p| format!("{} {} {}", p.name, hex_of(p.colour), p.finish.as_str())).collect()
}

const REEF_AND_COPPER: [&str; 2] = ["Reef black #1c1e22 opaque", "Port copper #a4683f metallic"];

#[test]
fn one_list_in_every_habit() {
    let wide: Vec<u8> = [0xff, 0xfe]
        .into_iter()
        .chain(
            "name\thex\ttype\r\nReef black\t#1c1e22\topaque\r\nPort copper\t#a4683f\tmetallic\r\n"
                .encode_utf16()
                .flat_map(u16::to_le_bytes),
        )
        .collect();
    for bytes in [
        b"name,hex,type\nReef black,#1c1e22,opaque\nPort copper,#a4683f,metallic\n".to_vec(),
        b"\xef\xbb\xbfName;Hex;Type\r\nReef black;1C1E22;Opaque\r\nPort copper;A4683F;Metallic\r\n".to_vec(),
        b"sep=;\r\nname;hex;type\r\nReef black;#1c1e22;o\r\nPort copper;#a4683f;m\r\n".to_vec(),
        b"\"type\",\"colour\",\"paint\"\n\"\",\"#1c1e22\",\" Reef  black \"\n\"metallic\",\"#a4683f\",\"Port copper\"\n".to_vec(),
        b"My paints,,\n,,\nColour,Hex,Type,Notes\nReef black,#1c1e22,opaque,\"old, thick\"\n,,,\nPort copper,#a4683f,metallic\n".to_vec(),
        b"Reef black,#1c1e22\nPort copper,#a4683f,metallic\n".to_vec(),
        b"name\thex\ttype\rReef black\t#1c1e22\topaque\rPort copper\trgb(164;104;63)\tmetallic\r".to_vec(),
        b"name,hex,hex,type\nReef black,#1c1e22,#ffffff,opaque\nPort copper,#a4683f,#ffffff,metal\n".to_vec(),
        wide,
    ] {
        let said = String::from_utf8_lossy(&bytes).into_owned();
        let (paints, findings) = read_paints(&bytes).unwrap_or_else(|e| panic!("{said}: {e}"));
        assert_eq!(findings, [], "{said}");
        let finish_told = said.contains("ype");
        let want: Vec<&str> = REEF_AND_COPPER.into_iter().take(if finish_told { 2 } else { 1 }).collect();
        assert_eq!(told(&paints)[..want.len()], want, "{said}");
        assert_eq!(paints.len(), 2);
    }
}

#[test]
fn lab_and_curves_and_decimal_commas() {
    let lab = "name;L;a;b;stock;strength\nRust;45,5;30,25;28;17 ml;0,5\nSand;80;2;18;no;\nHole;;1;2;;\n";
    let (paints, findings) = read_paints(lab.as_bytes()).expect("paints");
    assert_eq!((paints[0].colour.l, paints[0].colour.a), (45.5, 30.25));
    assert_eq!((paints[0].stock, paints[0].strength, paints[0].measured), (Some(17.0), Some(0.5), false));
    assert!(paints[0].at_hand() && !paints[1].at_hand());
    assert_eq!(findings.len(), 1);
    assert_eq!((findings[0].code, findings[0].place), (Code::PaintLeftOut, Some(Place::Line(4))));
    assert!(findings[0].hint.contains("'nothing', '1', '2'"), "{}", findings[0].hint);

    // A level curve of a half is a grey of L* 76.07 (CIE 15:2018: 116 · ∛0.5 − 16), in shares and in percent.
    let nm: Vec<String> = (400..=700).step_by(20).map(|nm| format!("{nm} nm")).collect();
    for level in ["0.5", "50"] {
        let row = vec![level; nm.len()].join(",");
        let text = format!(
            "name,{},hex\nGrey,{row},#ff0000\nRed,{},#ff0000\n",
            nm.join(","),
            ",".repeat(nm.len() - 1)
        );
        let (paints, findings) = read_paints(text.as_bytes()).expect("paints");
        assert_eq!(findings, []);
        assert!(paints[0].measured && (paints[0].colour.l - 76.0693).abs() < 1e-4, "{:?}", paints[0].colour);
        assert!(!paints[1].measured && hex_of(paints[1].colour) == "#ff0000");
    }
    let short = "name,400,500,600,700,hex\nGrey,.5,.5,.5,.5,#808080\n";
    let (paints, findings) = read_paints(short.as_bytes()).map_err(|e| e.to_string()).unwrap_or_default();
    assert!(paints.is_empty() && findings.is_empty(), "four points are no curve: {paints:?}");
}

#[test]
fn trouble_is_told_with_its_line() {
    let text = "name,hex,type,stock,strength\n\
        Kelp,#4a5a2a,opaque\n\
        kelp,#4a5a2b,opaque\n\
        Kelp,#4a5a2a,opaque\n\
        ,#808080,opaque\n\
        Mist,1122,opaque\n\
        Foam,#e9eef0,shiny,plenty,0\n\
        Salt\n";
    let (paints, findings) = read_paints(text.as_bytes()).expect("paints");
    let names: Vec<&str> = paints.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(names, ["Kelp", "kelp (2)", "paint of line 5", "Foam"]);
    let said: Vec<(u64, &str, Code)> = findings
        .iter()
        .map(|f| match f.place {
            Some(Place::Line(line)) => (line, f.hint.as_str(), f.code),
            _ => panic!("no line: {f:?}"),
        })
        .collect();
    for (got, (line, words, code)) in said.iter().zip([
        (3, "is called 'kelp (2)'", Code::PaintMended),
        (4, "in the list already", Code::PaintLeftOut),
        (5, "without a name", Code::PaintMended),
        (6, "write #001122", Code::PaintLeftOut),
        (7, "write opaque, transparent or metallic", Code::PaintMended),
        (7, "write a number, yes or no", Code::PaintMended),
        (7, "0.01 to 100", Code::PaintMended),
        (8, "has no colour", Code::PaintLeftOut),
    ]) {
        assert!(got.0 == line && got.1.contains(words) && got.2 == code, "{got:?} is not {line} {words}");
    }
    assert_eq!(said.len(), 8);
    assert_eq!(paints[3].finish, Finish::Opaque);
    let open = "name,hex\n\"Kelp,#4a5a2a\nMist,#ccd6da\n";
    let (paints, findings) = read_paints(open.as_bytes()).expect("paints");
    assert_eq!(paints.len(), 2);
    assert!(findings[0].hint.contains("never closed"));
}

#[test]
fn what_is_no_list_is_explained() {
    for (bytes, words) in [
        (&b""[..], "it is empty"),
        (b"\n\n,,\n", "it is empty"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0", "save the table as CSV"),
        (b"PK\x03\x04\x14\0\x06\0\x08\0\0\0!\0", "save the table as CSV"),
        (b"name,price\nKelp,3\n", "line 1 names no column with colours"),
        (b"name,hex,type\n", "no line below"),
        (b"name,hex\nKelp,green\nMist,grey\n", "line 2: 'green' is no colour"),
    ] {
        let said = read_paints(bytes).expect_err("no list").to_string();
        assert!(said.contains(words), "{said}");
    }
    let many = "Kelp,#4a5a2a\n".repeat(2_001);
    assert!(read_paints(many.as_bytes()).expect_err("too many").to_string().contains("2,000 are the most"));
}

#[test]
fn the_demo_list_is_read_without_a_word() {
    let (paints, findings) = read_paints(include_bytes!("../../../models-demo/paints.csv")).expect("paints");
    assert_eq!(findings, []);
    assert_eq!(paints.len(), 24);
    let count = |finish| paints.iter().filter(|p| p.finish == finish).count();
    assert_eq!([Finish::Opaque, Finish::Transparent, Finish::Metallic].map(count), [17, 4, 3]);
}

proptest! {
    /// Whatever stands in the file: no panic, and what is read can be reckoned with.
    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        if let Ok((paints, _)) = read_paints(&bytes) {
            prop_assert!(paints.iter().all(|p| p.colour.is_finite() && p.strength.is_none_or(|s| s > 0.0)));
        }
    }

    #[test]
    fn any_mangled_list_is_read_or_refused(
        cuts in proptest::collection::vec((0..400_usize, any::<u8>()), 0..12),
        separator in proptest::sample::select(vec![',', ';', '\t']),
    ) {
        let list = "name,hex,type,L,a,b,400,450,stock,strength\n\"Reef, black\",#1c1e22,opaque,,,,,,1,2\n\
            Rust,,transparent,45.5,30,28,,,no,\nGrey,,,,,,0.2,0.3,,\n".replace(',', &separator.to_string());
        let mut bytes = list.into_bytes();
        for (at, byte) in cuts {
            let at = at % bytes.len();
            bytes[at] = byte;
        }
        if let Ok((paints, findings)) = read_paints(&bytes) {
            prop_assert!(paints.iter().all(|p| p.colour.is_finite() && p.strength.is_none_or(|s| s > 0.0) && !p.name.is_empty()));
            prop_assert!(findings.iter().all(|f| !f.hint.is_empty()));
        }
    }
}
