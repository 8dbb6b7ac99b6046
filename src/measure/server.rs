//! The servers of the pipeline, and a value for each.

use serde::Serialize;

/// A server: something that works on one thing at a time, or on a few.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Server {
    /// The host's processor: simulate.
    Cpu,
    /// The host's graphics processor: render.
    Gpu,
    /// The encoder.
    Encoder,
    /// The link.
    Link,
    /// The decoder.
    Decoder,
}

impl Server {
    /// All servers in the order in which a frame meets them.
    pub const ALL: [Self; 5] = [Self::Cpu, Self::Gpu, Self::Encoder, Self::Link, Self::Decoder];

    /// Its name in tables and JSON.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Cpu => "cpu",
            Self::Gpu => "gpu",
            Self::Encoder => "encoder",
            Self::Link => "link",
            Self::Decoder => "decoder",
        }
    }

    /// Its name for people.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Cpu => "CPU",
            Self::Gpu => "GPU",
            Self::Encoder => "Encoder",
            Self::Link => "Link",
            Self::Decoder => "Decoder",
        }
    }
}

/// A value for each server.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Servers<T> {
    /// Of the host's processor.
    pub cpu: T,
    /// Of the host's graphics processor.
    pub gpu: T,
    /// Of the encoder.
    pub encoder: T,
    /// Of the link.
    pub link: T,
    /// Of the decoder.
    pub decoder: T,
}

impl<T: Copy> Servers<T> {
    /// The value of one server.
    pub fn of(&self, server: Server) -> T {
        match server {
            Server::Cpu => self.cpu,
            Server::Gpu => self.gpu,
            Server::Encoder => self.encoder,
            Server::Link => self.link,
            Server::Decoder => self.decoder,
        }
    }

    /// Another value for each server, worked out from the server and its value here.
    pub fn map<U>(&self, mut other: impl FnMut(Server, T) -> U) -> Servers<U> {
        Servers {
            cpu: other(Server::Cpu, self.cpu),
            gpu: other(Server::Gpu, self.gpu),
            encoder: other(Server::Encoder, self.encoder),
            link: other(Server::Link, self.link),
            decoder: other(Server::Decoder, self.decoder),
        }
    }
}
