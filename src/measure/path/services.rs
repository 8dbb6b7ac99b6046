//! What a frame's slices took, and how long they would have taken had no other frame been there.

use super::{Codec, Path};

/// Most engines of a stage.
const MOST_ENGINES: usize = 4;

/// What the slices of a frame that got ready took.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(clippy::struct_field_names, reason = "the unit belongs to the name")]
pub(in super::super) struct Services {
    /// Service of all slices at the encoder \[ns\].
    pub encoder_ns: i64,
    /// First sendings of all slices, without the closures in them \[ns\].
    pub sending_ns: i64,
    /// The same with them: as long as the link was taken \[ns\].
    pub link_ns: i64,
    /// Service of all slices at the decoder \[ns\].
    pub decoder_ns: i64,
    /// When the frame would have been ready, had its slices come to the encoder as they did but met no other frame, no
    /// closure and no loss \[ns\].
    pub ready_alone_ns: i64,
}

/// Engines side by side that serve slices first in, first out.
#[derive(Debug, Clone, Copy)]
struct Engines {
    free_ns: [i64; MOST_ENGINES],
    count: usize,
    pipeline_ns: i64,
    last_out_ns: i64,
}

impl Engines {
    #[inline]
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
    /// What the slices of a frame took, and when it would have been ready alone: the recurrence of a flow shop on the
    /// services that it had. None unless it got ready.
    #[inline]
    pub(in super::super) fn services(&self, frame: usize) -> Option<Services> {
        self.run.frames[frame].ready.ns()?;
        let slices = self.run.slices_of(frame);
        let (mut encoder, mut decoder) = (Engines::new(self.encoder), Engines::new(self.decoder));
        let travel_ns = self.propagation_ns + self.table.frames[frame].link_delay_ns;
        let mut link_free_ns = i64::MIN;
        let mut took = Services { encoder_ns: 0, sending_ns: 0, link_ns: 0, decoder_ns: 0, ready_alone_ns: 0 };
        // With hand-off by frames a stage begins when the last slice has left the one before.
        let encoded_ns = if self.encoder_hands_on_frames { Some(self.encoded_alone_ns(frame)?) } else { None };
        for record in slices.iter() {
            let encoding_ns = record.encoding_ns()?;
            let decoding_ns = record.decoding_ns()?;
            let (sent_from_ns, sent_ns) = (record.link_start().ns()?, record.link_end().ns()?);
            let sending_ns = self.sending_ns(sent_from_ns, sent_ns);
            took.encoder_ns += encoding_ns;
            took.sending_ns += sending_ns;
            took.link_ns += sent_ns - sent_from_ns;
            took.decoder_ns += decoding_ns;
            let come_ns = match encoded_ns {
                Some(encoded_ns) => encoded_ns,
                None => encoder.out_ns(record.come().ns()?, encoding_ns),
            };
            link_free_ns = come_ns.max(link_free_ns) + sending_ns;
            if !self.link_hands_on_frames {
                took.ready_alone_ns = decoder.out_ns(link_free_ns + travel_ns, decoding_ns);
            }
        }
        if self.link_hands_on_frames {
            for record in slices.iter() {
                let decoding_ns = record.decoding_ns()?;
                took.ready_alone_ns = decoder.out_ns(link_free_ns + travel_ns, decoding_ns);
            }
        }
        Some(took)
    }

    /// When the last slice would have come out of the encoder alone \[ns\].
    fn encoded_alone_ns(&self, frame: usize) -> Option<i64> {
        let mut encoder = Engines::new(self.encoder);
        let mut out_ns = None;
        for record in self.run.slices_of(frame).iter() {
            let encoding_ns = record.encoding_ns()?;
            out_ns = Some(encoder.out_ns(record.come().ns()?, encoding_ns));
        }
        out_ns
    }
}
