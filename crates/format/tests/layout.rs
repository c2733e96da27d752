//! What the layout does, piece by piece.

use halfsplit_format::format;

fn tidy(text: &str) -> String {
    let once = format(text).unwrap();
    assert_eq!(format(&once).as_deref(), Ok(once.as_str()), "twice is once");
    once
}

#[test]
fn cells_stand_in_columns() {
    let text = "halfsplit 1
wire W1 A10.X2:14 to SP10 GY/RD 0.5 mm2 0.4 m
wire W200 SP10 to X21.body:6 0.75mm2 0.9m { note \"hot\" suspicion 2
}
wire W3 X34:2 to X21.engine:6 GNYE 14 AWG
bar BUS1 \"left\"
bar BUS15 \"right\"
link FL1 60A FL1:load on BUS1
fuse F12 5A type C F12:feed on BUS1 F12:load on BUS15
";
    let text = text.replace("\" suspicion", "\"\nsuspicion");
    insta::assert_snapshot!(tidy(&text), @r#"
    halfsplit 1
    wire W1    A10.X2:14  to SP10          GY/RD  0.5 mm2   0.4 m
    wire W200  SP10       to X21.body:6           0.75 mm2  0.9 m {
      note       "hot"
      suspicion  2
    }
    wire W3    X34:2      to X21.engine:6  GNYE   14 AWG
    bar BUS1  "left"
    bar BUS15 "right"
    link FL1  60 A        FL1:load on BUS1
    fuse F12  5 A type C  F12:feed on BUS1  F12:load on BUS15
    "#);
}

#[test]
fn what_is_in_a_cavity_is_one_column() {
    let text = "halfsplit 1
inline X21 12 cavities halves body engine {
1..3 elsewhere \"chassis\"
4 GY/RD to GY/YE \"reference A\"
5 double-crimp GN \"CAN-H\"
12 BK
parting 0.2 min
}
";
    insta::assert_snapshot!(tidy(text), @r#"
    halfsplit 1
    inline X21 12 cavities  halves body engine {
      1..3     elsewhere        "chassis"
      4        GY/RD to GY/YE   "reference A"
      5        double-crimp GN  "CAN-H"
      12       BK
      parting  0.2 min
    }
    "#);
}

#[test]
fn an_odd_cell_moves_only_its_own_line() {
    let text = "halfsplit 1
wire W1 X1:1 to X2:1 RD 1 mm2
wire W2 X1:2 to A100_LEFT_FRONT.X2_GREEN:2 BK 1 mm2
wire W3 X1:3 to X2:3 GY/RD 1 mm2
";
    insta::assert_snapshot!(tidy(text), @r#"
    halfsplit 1
    wire W1  X1:1  to X2:1  RD     1 mm2
    wire W2  X1:2  to A100_LEFT_FRONT.X2_GREEN:2  BK  1 mm2
    wire W3  X1:3  to X2:3  GY/RD  1 mm2
    "#);
}

#[test]
fn groups_end_at_blank_lines_and_comments() {
    let text = "halfsplit 1
wire W1 X1:1 to X2:1 RD 1 mm2


wire W100 X1:100 to X2:1 RD 1 mm2
# the long ones
wire W1000 X1:1000 to X2:1 RD 1 mm2
";
    insta::assert_snapshot!(tidy(text), @r#"
    halfsplit 1
    wire W1  X1:1  to X2:1  RD  1 mm2

    wire W100  X1:100  to X2:1  RD  1 mm2
    # the long ones
    wire W1000  X1:1000  to X2:1  RD  1 mm2
    "#);
}

#[test]
fn comments_and_blank_lines_keep_their_place() {
    let text = "

# the file
halfsplit 1 # version
sensor B4 { # four

# inside

    reach 5 min# far
  # at the end

} # done
# last


";
    insta::assert_snapshot!(tidy(text), @r#"
    # the file
    halfsplit 1  # version
    sensor B4 {  # four
      # inside

      reach  5 min  # far
      # at the end
    }  # done
    # last
    "#);
}

#[test]
fn spelling_is_settled() {
    let text = "\u{FEFF}halfsplit 1
sensor B4 “A/C pressure” {
\u{a0}connector X34 3 cavities { 1 .. 2 gy/rd \"a\"
3 to BK }
draws 8mA at 5V X34:2->X34:1
}
heater R5 { resistance 4.7kΩ X5:1 -> X5:2 }
wire W1 X34:1 to stub RD 0.5mm² unknown
relay K3 { 87a on BUS1 }
bar BUS1";
    insta::assert_snapshot!(tidy(text), @r#"
    halfsplit 1
    sensor B4 "A/C pressure" {
      connector X34 3 cavities {
        1..2  GY/RD  "a"
        3            to BK
      }
      draws  8 mA at 5 V  X34:2 -> X34:1
    }
    heater R5 {
      resistance  4.7 kohm  X5:1 -> X5:2
    }
    wire W1  X34:1  to stub  RD  0.5 mm2  unknown
    relay K3 {
      87a  on BUS1
    }
    bar BUS1
    "#);
}

#[test]
fn faulty_lines_stay_as_they_are() {
    let text = "halfsplit 1
wire W1    SP10 to   X34:2 GR 0,5 mm2
  wire   W20 SP10 to X34:2 GY/RD   0.5 mm2
sensor B4 {
 \treach   5   \t
     wobble  3 # what
 suspicion 2
}
";
    insta::assert_snapshot!(tidy(text), @r#"
    halfsplit 1
    wire W1    SP10 to   X34:2 GR 0,5 mm2
    wire W20  SP10  to X34:2  GY/RD  0.5 mm2
    sensor B4 {
     	reach   5   	
         wobble  3 # what
      suspicion  2
    }
    "#);
}

#[test]
fn where_blocks_are_in_doubt_lines_stay_where_they_stand() {
    let text = "halfsplit 1
sensor B4 {
      suspicion   3
   connector X34 3 cavities {
    2   GY/RD
sensor B5 { suspicion 4 }
  wire W1 SP10   to X34:2 RD
";
    insta::assert_snapshot!(tidy(text), @r#"
    halfsplit 1
    sensor B4 {
          suspicion  3
       connector X34 3 cavities {
        2  GY/RD
    sensor B5 { suspicion 4 }
      wire W1  SP10  to X34:2  RD
    "#);
}

#[test]
fn line_ends_stay() {
    let tidied = tidy("halfsplit 1\r\n\r\n\r\nbar   BUS1 # a  \r\n  wire W1 GR   \r\n");
    assert_eq!(tidied, "halfsplit 1\r\n\r\nbar BUS1  # a\r\n  wire W1 GR   \r\n");
}

#[test]
fn nothing_stays_nothing() {
    assert_eq!(tidy(""), "");
    assert_eq!(tidy("\n \n"), "");
}
