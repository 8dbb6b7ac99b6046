//! Names made shorter where there is no room for them, so that what tells two of them apart stays.

/// What stands for letters left out.
const LEFT_OUT: &str = "…";
/// Letters of the beginning that are kept before what tells two names apart, at most.
const BEGINNING: usize = 14;

/// A name in at most so many letters: as it is where it fits, else its beginning and from there on where it differs from
/// `other`; of names that do not differ, beginning and end.
pub(super) fn brief(name: &str, other: &str, letters: usize) -> String {
    let all: Vec<char> = name.chars().collect();
    let letters = letters.max(2);
    if all.len() <= letters {
        return name.to_owned();
    }
    let alike = all.iter().zip(other.chars()).take_while(|(one, two)| *one == two).count();
    // A word that differs is kept from its beginning.
    let word = all[..alike].iter().rposition(|letter| letter.is_whitespace()).map_or(0, |space| space + 1);
    let text = |letters: &[char]| letters.iter().collect::<String>();
    if name == other {
        let end = letters / 2;
        return format!("{}{LEFT_OUT}{}", text(&all[..letters - 1 - end]).trim_end(), text(&all[all.len() - end..]));
    }
    if word <= BEGINNING.min(letters / 2) {
        return format!("{}{LEFT_OUT}", text(&all[..letters - 1]).trim_end());
    }
    let head = text(beginning(&all, BEGINNING.min(letters / 3)));
    let room = letters - head.chars().count() - 1;
    let from = word.min(all.len() - room);
    // What there is room for before that word begins with a word too.
    let cut = from > 0 && from < word && !all[from - 1].is_whitespace();
    let from = if cut {
        all[from..word].iter().position(|letter| letter.is_whitespace()).map_or(word, |space| from + space + 1)
    } else {
        from
    };
    let rest = &all[from..];
    if rest.len() <= room {
        return format!("{}{LEFT_OUT}{}", head.trim_end(), text(rest));
    }
    format!("{}{LEFT_OUT}{}{LEFT_OUT}", head.trim_end(), text(&rest[..room.saturating_sub(1)]).trim_end())
}

/// As much of the beginning as has at most so many letters: whole words, or a part of the first.
fn beginning(all: &[char], most: usize) -> &[char] {
    let ends = (1..=most).rev().find(|end| all.get(*end).is_some_and(|next| next.is_whitespace()));
    &all[..ends.unwrap_or(most)]
}

/// The same in as many letters as are no wider than `room`; `width` measures a text.
pub(super) fn fitting(name: &str, other: &str, room: f32, width: impl Fn(&str) -> f32) -> String {
    let wide = width(name);
    if wide <= room {
        return name.to_owned();
    }
    let letters = name.chars().count();
    let most = (letters as f32 * room / wide.max(1.0)).ceil() as usize + 2;
    let shorter = (2..=most.min(letters)).rev().map(|letters| brief(name, other, letters));
    shorter.into_iter().find(|text| width(text) <= room).unwrap_or_else(|| LEFT_OUT.to_owned())
}

/// Two names, each against the other, over the room that both have: what one leaves is the other's.
pub(super) fn both(names: &[String; 2], room: f32, width: impl Fn(&str) -> f32) -> [String; 2] {
    let wide = names.each_ref().map(|name| width(name));
    let half = room / 2.0;
    let rooms = [0, 1].map(|side: usize| half.max(room - wide[1 - side]));
    [0, 1].map(|side: usize| fitting(&names[side], &names[1 - side], rooms[side], &width))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_tells_names_apart_stays() {
        let [one, two] = ["Radio 72 Hz, fades, with parity rows", "Radio 72 Hz, fades, without any repair"];
        assert_eq!(brief(one, two, 100), one);
        assert_eq!(brief(one, two, 24), "Radio 72…with parity ro…");
        assert_eq!(brief(two, one, 24), "Radio 72…without any re…");
        assert_eq!(brief(two, one, 30), "Radio 72…without any repair");
        assert_eq!(brief("Whole frames of the bench", "Sliced frames", 14), "Whole frames…");
        assert_eq!(brief("The very same name, copy 2", "The very same name, copy 2", 13), "The ve…copy 2");
        assert_eq!(brief("A name that goes on, the second", "A name that goes on", 20), "A name…on, the seco…");
        for letters in 2..60 {
            for (name, other) in [(one, two), (two, one), (one, one), (one, ""), ("ééééé ééééééé", "ééééé ééé")]
            {
                assert!(brief(name, other, letters).chars().count() <= letters.max(2), "{name} {letters}");
            }
        }
    }

    #[test]
    fn what_one_name_leaves_is_the_others() {
        let names = ["Short".to_owned(), "A name that is longer than its half".to_owned()];
        let width = |text: &str| text.chars().count() as f32;
        assert_eq!(both(&names, 60.0, width), names);
        let [one, two] = both(&names, 36.0, width);
        assert_eq!(one, "Short");
        assert!((28..=31).contains(&two.chars().count()), "{two}");
    }
}
