//! What is kept of slices comes out as it went in.

use super::*;
use proptest::prelude::*;

fn instant() -> impl Strategy<Value = Stamp> {
    let around = |center: i64| (center - 3..=center + 3).prop_map(Stamp::at);
    prop_oneof![
        Just(Stamp::NEVER),
        around(0),
        around(i64::from(u32::MAX)),
        around(1 << 47),
        any::<i64>().prop_map(Stamp::at)
    ]
}

proptest! {
    /// Whatever stands in a record comes out of it again, near or apart, also where another stood there before.
    #[test]
    fn a_record_comes_out_as_it_went_in(
        rows in prop::collection::vec((prop::array::uniform11(instant()), 0_i64..1 << 35, 0_u32..=10), 1..6)
    ) {
        let records: Vec<SliceRecord> = rows.into_iter().map(|(at, bytes, resends)| SliceRecord {
            come: at[0],
            encode_start: at[1],
            encode_end: at[2],
            encode_out: at[3],
            link_start: at[4],
            link_end: at[5],
            complete: at[6],
            arrive: at[7],
            decode_start: at[8],
            decode_end: at[9],
            decode_out: at[10],
            bytes,
            resends,
        }).collect();
        let mut slices: Slices = records.iter().copied().collect();
        prop_assert!(slices.all().records().eq(records.iter().copied()));
        // The same place again and again.
        for record in &records {
            slices.slice_mut(0).put(record);
            prop_assert_eq!(slices.all().at(0).record(), *record);
        }
    }
}

#[test]
fn a_slice_takes_64_bytes() {
    assert_eq!(size_of::<Kept>(), 64);
}

/// Four seconds at a stage are kept apart, and a resend counted after that is none of its bytes.
#[test]
fn what_is_long_is_exact() {
    let mut slices: Slices = [SliceRecord::default(); 2].into_iter().collect();
    let mut slice = slices.slice_mut(1);
    slice.begin(3_000_000_000);
    slice.set(Moment::EncodeStart, 7);
    slice.set(Moment::EncodeEnd, 7 + 60_000_000_000);
    slice.count_resend();
    slice.set(Moment::EncodeOut, 8);
    assert_eq!((slice.read().encode_end().ns(), slice.read().bytes()), (Some(60_000_000_007), 3_000_000_000));
    let record = slices.all().at(1).record();
    assert_eq!((record.encode_out.ns(), record.resends, record.bytes), (Some(8), 1, 3_000_000_000));
    assert_eq!(slices.all().at(0).record(), SliceRecord::default());
}
