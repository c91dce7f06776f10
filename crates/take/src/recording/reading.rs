//! How do a file's bytes become samples? Container and coding by `symphonia`; mixed to one channel and thinned as they come.

use super::damaged;
use super::run_in::run_in;
use super::thinning::{Thinner, factor};
use crate::error::TakeError;
use crate::numbers::{count, single};
use std::io::{Seek, SeekFrom};
use symphonia::core::codecs::audio::{AudioDecoder, AudioDecoderOptions};
use symphonia::core::errors::Error;
use symphonia::core::formats::probe::Hint;
use symphonia::core::formats::{FormatOptions, FormatReader, TrackType};
use symphonia::core::io::{MediaSource, MediaSourceStream};
use symphonia::core::meta::MetadataOptions;

/// A take is listened to for at most half an hour: memory and patience stay bounded whatever the file says.
const MOST_SECONDS: u64 = 1_800;
/// So many samples a second can be listened to.
const RATES: std::ops::RangeInclusive<u32> = 8_000..=384_000;
/// So many damaged packets in a row end the reading.
const PATIENCE: u32 = 1_000;

/// Which channels are listened to.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Channels {
    /// All, in the mean.
    Mixed,
    /// Only the first.
    First,
}

/// What came out of a file.
#[derive(Default)]
pub(super) struct Read {
    pub rate: u32,
    pub samples: Vec<f32>,
    /// Packets that could not be decoded.
    pub broken: u32,
    /// Why the reading stopped before the file's end, a sentence.
    pub ended: Option<&'static str>,
    /// The loudest sample of any channel.
    pub peak: f32,
    /// Instants at full scale, and all.
    pub full: u64,
    pub heard: u64,
    /// Energy of the mix, and of the channels in the mean.
    mixed: f64,
    each: f64,
}

impl Read {
    /// Do the channels cancel each other in the mix? (Their sum has less than a fortieth of what either has.)
    pub fn cancels(&self) -> bool {
        self.each > 0.0 && self.mixed * 40.0 < self.each
    }

    /// Mixes what was decoded, and looks at it.
    fn mix(&mut self, interleaved: &[f32], channels: usize, which: Channels, mono: &mut Vec<f32>) {
        mono.clear();
        let part = 1.0 / single(channels);
        for instant in interleaved.chunks_exact(channels) {
            let clean = |sample: &f32| {
                if sample.is_finite() {
                    sample.clamp(-4.0, 4.0)
                } else {
                    0.0
                }
            };
            let loudest = instant
                .iter()
                .map(|sample| clean(sample).abs())
                .fold(0.0, f32::max);
            let sum: f32 = instant.iter().map(clean).sum();
            let mixed = match which {
                Channels::Mixed => sum * part,
                Channels::First => instant.first().map_or(0.0, clean),
            };
            self.peak = self.peak.max(loudest);
            self.full += u64::from(loudest >= 0.999);
            self.mixed += f64::from(mixed * mixed);
            self.each += f64::from(instant.iter().map(|sample| clean(sample).powi(2)).sum::<f32>() * part);
            mono.push(mixed);
        }
        self.heard += u64::try_from(mono.len()).unwrap_or(0);
    }
}

/// Bytes as `symphonia` wants them.
pub(super) struct Source<S> {
    inner: S,
    length: Option<u64>,
}

impl<S: Seek> Source<S> {
    pub fn new(mut inner: S) -> Self {
        let length = inner.seek(SeekFrom::End(0)).ok();
        let _ = inner.seek(SeekFrom::Start(0));
        Self { inner, length }
    }
}

impl<S: std::io::Read> std::io::Read for Source<S> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        self.inner.read(buffer)
    }
}

impl<S: Seek> Seek for Source<S> {
    fn seek(&mut self, to: SeekFrom) -> std::io::Result<u64> {
        self.inner.seek(to)
    }
}

impl<S: std::io::Read + Seek + Send + Sync> MediaSource for Source<S> {
    fn is_seekable(&self) -> bool {
        true
    }

    fn byte_len(&self) -> Option<u64> {
        self.length
    }
}

/// Reads a source to its end.
pub(super) fn read<S>(mut source: Source<S>, name: &str, channels: Channels) -> Result<Read, TakeError>
where
    S: std::io::Read + Seek + Send + Sync,
{
    if source.length == Some(0) {
        return Err(TakeError::Empty {
            name: name.to_owned(),
        });
    }
    let run_in = run_in(&mut source);
    let (mut format, mut decoder, track) = opened(source, name)?;
    let mut got = Read::default();
    let (mut interleaved, mut mono): (Vec<f32>, Vec<f32>) = (Vec::new(), Vec::new());
    let (mut thinner, mut file_rate, mut in_a_row) = (None, 0, 0);
    // Instants of the encoder's run-in that are still to come.
    let mut run_in_left = 0;
    let mut last_error = None;
    loop {
        let packet = match format.next_packet() {
            Ok(Some(packet)) => packet,
            Ok(None) => break,
            Err(Error::ResetRequired) => {
                got.ended =
                    Some("The file changes its manner in the middle; only its beginning was listened to.");
                break;
            }
            Err(error) => {
                // Recorders that are cut off leave files without an end.
                got.broken += u32::from(!ends(&error));
                last_error = Some(error.to_string());
                break;
            }
        };
        if packet.track_id != track {
            continue;
        }
        let decoded = match decoder.decode(&packet) {
            Ok(decoded) => decoded,
            Err(error) => {
                got.broken += 1;
                in_a_row += 1;
                last_error = Some(error.to_string());
                if in_a_row > PATIENCE {
                    break;
                }
                continue;
            }
        };
        in_a_row = 0;
        let (rate, width) = (decoded.spec().rate(), decoded.spec().channels().count());
        if !RATES.contains(&rate) {
            return Err(TakeError::Rate {
                name: name.to_owned(),
                rate,
            });
        }
        if file_rate == 0 {
            file_rate = rate;
            run_in_left = count(run_in * f64::from(rate));
        } else if rate != file_rate {
            got.ended = Some("The file changes its rate in the middle; only its beginning was listened to.");
            break;
        }
        if width == 0 {
            continue;
        }
        interleaved.resize(decoded.samples_interleaved(), 0.0);
        decoded.copy_to_slice_interleaved(&mut interleaved);
        let dropped = run_in_left.min(interleaved.len() / width);
        run_in_left -= dropped;
        let playing = interleaved.get(dropped * width..).unwrap_or(&[]);
        got.mix(playing, width, channels, &mut mono);
        let thinner = thinner.get_or_insert_with(|| Thinner::new(factor(rate)));
        thinner.push(&mono, &mut got.samples);
        if got.heard >= MOST_SECONDS * u64::from(rate) {
            got.ended =
                Some("The recording is longer than half an hour; only its first half hour was listened to.");
            break;
        }
    }
    if let Some(thinner) = &mut thinner {
        thinner.finish(&mut got.samples);
    }
    if got.samples.is_empty() {
        return Err(match last_error {
            Some(why) => damaged(name, why),
            None => TakeError::Empty {
                name: name.to_owned(),
            },
        });
    }
    got.rate = file_rate / factor(file_rate);
    Ok(got)
}

/// Does an error only say that the bytes are at their end?
fn ends(error: &Error) -> bool {
    matches!(error, Error::IoError(io) if io.kind() == std::io::ErrorKind::UnexpectedEof)
}

type Opened<'s> = (Box<dyn FormatReader + 's>, Box<dyn AudioDecoder>, u32);

/// The container, the decoder of its sound and the number of that track.
fn opened<'s, S>(source: Source<S>, name: &str) -> Result<Opened<'s>, TakeError>
where
    S: std::io::Read + Seek + Send + Sync + 's,
{
    let mut hint = Hint::new();
    if let Some((_, ending)) = name.rsplit_once('.') {
        hint.with_extension(&ending.to_lowercase());
    }
    let stream = MediaSourceStream::new(Box::new(source), Default::default());
    let format = symphonia::default::get_probe()
        .probe(
            &hint,
            stream,
            FormatOptions::default(),
            MetadataOptions::default(),
        )
        .map_err(|_| TakeError::Unknown {
            name: name.to_owned(),
        })?;
    let track = format
        .default_track(TrackType::Audio)
        .ok_or_else(|| damaged(name, "there is no sound in it".to_owned()))?;
    let id = track.id;
    let parameters = track
        .codec_params
        .as_ref()
        .and_then(|parameters| parameters.audio());
    let parameters = parameters.ok_or_else(|| damaged(name, "its coding is not said".to_owned()))?;
    let decoder = symphonia::default::get_codecs()
        .make_audio_decoder(parameters, &AudioDecoderOptions::default())
        .map_err(|error| damaged(name, error.to_string()))?;
    Ok((format, decoder, id))
}
