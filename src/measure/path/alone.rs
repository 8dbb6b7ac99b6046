//! How long a frame's slices would have taken had no other frame been there.

use super::{Codec, Path};
use crate::engine::SliceRecord;

/// Most engines of a stage.
const MOST_ENGINES: usize = 4;

/// Engines side by side that serve slices first in, first out.
#[derive(Debug, Clone, Copy)]
struct Engines {
    free_ns: [i64; MOST_ENGINES],
    count: usize,
    pipeline_ns: i64,
    last_out_ns: i64,
}

impl Engines {
    fn new(codec: Codec) -> Self {
        let count = codec.engines.clamp(1, MOST_ENGINES);
        Self { free_ns: [i64::MIN; MOST_ENGINES], count, pipeline_ns: codec.pipeline_ns, last_out_ns: i64::MIN }
    }

    /// When a slice that comes then and takes so long comes out, in order.
    #[inline]
    fn out_ns(&mut self, come_ns: i64, service_ns: i64) -> i64 {
        let mut first = 0;
        for other in 1..self.count {
            if self.free_ns[other] < self.free_ns[first] {
                first = other;
            }
        }
        let end_ns = come_ns.max(self.free_ns[first]) + service_ns;
        self.free_ns[first] = end_ns;
        self.last_out_ns = self.last_out_ns.max(end_ns + self.pipeline_ns);
        self.last_out_ns
    }
}

impl Path<'_> {
    /// When a frame that got ready would have, had its slices come to the encoder as they did but met no other frame, no
    /// closure and no loss: the recurrence of a flow shop on the services that it had \[ns\]. None unless it got ready.
    pub(in super::super) fn ready_alone_ns(&self, frame: usize) -> Option<i64> {
        self.run.frames[frame].ready.ns()?;
        let slices = self.run.slices_of(frame);
        let (mut encoder, mut decoder) = (Engines::new(self.encoder), Engines::new(self.decoder));
        let travel_ns = self.propagation_ns + self.table.frames[frame].link_delay_ns;
        let mut link_free_ns = i64::MIN;
        let mut ready_ns = None;
        // With hand-off by frames a stage begins when the last slice has left the one before.
        let encoded_ns = if self.encoder_hands_on_frames { Some(self.encoded_alone_ns(slices)?) } else { None };
        for record in slices {
            let come_ns = match encoded_ns {
                Some(encoded_ns) => encoded_ns,
                None => encoder.out_ns(record.come.ns()?, encoding_ns(record)?),
            };
            link_free_ns = come_ns.max(link_free_ns) + self.sending_ns(record.link_start.ns()?, record.link_end.ns()?);
            if !self.link_hands_on_frames {
                ready_ns = Some(decoder.out_ns(link_free_ns + travel_ns, decoding_ns(record)?));
            }
        }
        if self.link_hands_on_frames {
            for record in slices {
                ready_ns = Some(decoder.out_ns(link_free_ns + travel_ns, decoding_ns(record)?));
            }
        }
        ready_ns
    }

    /// When the last slice would have come out of the encoder alone \[ns\].
    fn encoded_alone_ns(&self, slices: &[SliceRecord]) -> Option<i64> {
        let mut encoder = Engines::new(self.encoder);
        let mut out_ns = None;
        for record in slices {
            out_ns = Some(encoder.out_ns(record.come.ns()?, encoding_ns(record)?));
        }
        out_ns
    }
}

/// Service of a slice at the encoder \[ns\].
#[inline]
fn encoding_ns(record: &SliceRecord) -> Option<i64> {
    Some(record.encode_end.ns()? - record.encode_start.ns()?)
}

/// Service of a slice at the decoder \[ns\].
#[inline]
fn decoding_ns(record: &SliceRecord) -> Option<i64> {
    Some(record.decode_end.ns()? - record.decode_start.ns()?)
}
