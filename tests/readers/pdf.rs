//! Reads a PDF back: the text of each page as a person would read it, and its pixels.
//!
//! Promises: hayro parses and draws, which shares no code with what writes our pages; the text is
//! what the page shows, glyph by glyph and where it stands, not what a writer meant. A glyph that
//! is missing from its font, or that no text is known for, reads as U+FFFD. Anything the
//! interpreter warns of stops the test.

use hayro::hayro_interpret::font::{Glyph, GlyphRun};
use hayro::hayro_interpret::hayro_cmap::BfString;
use hayro::hayro_interpret::{
    BlendMode, ClipPath, Context, Device, DrawMode, DrawProps, Image, ImageDrawProps,
    InterpreterCache, InterpreterSettings, SoftMask, interpret_page,
};
use hayro::hayro_syntax::Pdf;
use hayro::kurbo::{Affine, BezPath, Point, Rect, Vec2};
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::{PixmapSettings, RenderCache, RenderSettings};
use std::sync::{Arc, Mutex};

const POINTS_PER_INCH: f32 = 72.0;

/// The text of each page. What stands together on one baseline makes a line, however it was drawn;
/// a wide gap begins a new line, so that columns beside each other do not run together. Lines come
/// in the order in which they were begun, so that a paragraph keeps together beside another.
pub fn pdf_text(bytes: &[u8]) -> Vec<String> {
    let pdf = parsed(bytes);
    let warnings = Warnings::default();
    let cache = InterpreterCache::new();
    let mut texts = Vec::new();
    for page in pdf.pages().iter() {
        let (width, height) = page.render_dimensions();
        let sheet = Rect::new(0.0, 0.0, f64::from(width), f64::from(height));
        let settings = warnings.settings();
        let mut context = Context::new(Affine::IDENTITY, sheet, &cache, page.xref(), settings);
        let mut listener = Listener::default();
        interpret_page(page, &mut context, &mut listener);
        texts.push(as_read(listener.runs));
    }
    warnings.none();
    texts
}

/// The text of each page in the order in which it was drawn, which is the order in which a screen
/// reader says it; without spaces, since a page may part words by place alone.
pub fn pdf_drawn(bytes: &[u8]) -> Vec<String> {
    let pdf = parsed(bytes);
    let warnings = Warnings::default();
    let cache = InterpreterCache::new();
    let mut texts = Vec::new();
    for page in pdf.pages().iter() {
        let (width, height) = page.render_dimensions();
        let sheet = Rect::new(0.0, 0.0, f64::from(width), f64::from(height));
        let settings = warnings.settings();
        let mut context = Context::new(Affine::IDENTITY, sheet, &cache, page.xref(), settings);
        let mut listener = Listener::default();
        interpret_page(page, &mut context, &mut listener);
        let glyphs = listener.runs.iter().flat_map(|run| &run.glyphs);
        let all: String = glyphs.map(|glyph| glyph.text.as_str()).collect();
        texts.push(all.split_whitespace().collect());
    }
    warnings.none();
    texts
}

/// A page drawn on white paper.
pub struct Pixels {
    pub width: usize,
    pub height: usize,
    /// Red, green and blue of each pixel, row by row from the top.
    rgb: Vec<[u8; 3]>,
}

impl Pixels {
    /// The colour at a pixel, counted from the left and the top.
    pub fn at(&self, x: usize, y: usize) -> [u8; 3] {
        assert!(x < self.width && y < self.height, "no pixel at {x}, {y}");
        self.rgb[y * self.width + x]
    }

    /// How dark a pixel is, from 0 for white to 255 for black.
    pub fn ink(&self, x: usize, y: usize) -> u8 {
        let [r, g, b] = self.at(x, y).map(u32::from);
        u8::try_from(255 - (r + g + b) / 3).unwrap()
    }
}

/// Draws one page, counted from 0.
pub fn pdf_pixels(bytes: &[u8], page: usize, dots_per_inch: f32) -> Pixels {
    let pdf = parsed(bytes);
    let warnings = Warnings::default();
    let scale = dots_per_inch / POINTS_PER_INCH;
    let pixmap = hayro::render(
        &pdf.pages()[page],
        &RenderCache::new(),
        &warnings.settings(),
        &RenderSettings::default(),
        &PixmapSettings {
            x_scale: scale,
            y_scale: scale,
            bg_color: WHITE,
        },
    );
    warnings.none();
    let rgb = pixmap
        .data()
        .iter()
        .map(|pixel| [pixel.r, pixel.g, pixel.b]);
    Pixels {
        width: pixmap.width().into(),
        height: pixmap.height().into(),
        rgb: rgb.collect(),
    }
}

fn parsed(bytes: &[u8]) -> Pdf {
    Pdf::new(bytes.to_vec()).unwrap_or_else(|error| panic!("not a PDF: {error:?}"))
}

/// What the interpreter complained of.
#[derive(Default)]
struct Warnings(Arc<Mutex<Vec<String>>>);

impl Warnings {
    fn settings(&self) -> InterpreterSettings {
        let heard = Arc::clone(&self.0);
        InterpreterSettings {
            warning_sink: Arc::new(move |warning| {
                heard.lock().unwrap().push(format!("{warning:?}"));
            }),
            ..InterpreterSettings::default()
        }
    }

    fn none(&self) {
        let heard = self.0.lock().unwrap();
        assert!(heard.is_empty(), "the page is faulty: {heard:?}");
    }
}

/// A glyph as it is read, and where along its baseline it begins and ends.
struct Read {
    text: String,
    begins: f64,
    ends: f64,
}

/// Glyphs shown together, on one baseline.
struct Run {
    /// Which way the baseline runs, in whole degrees.
    degrees: i64,
    /// How far the baseline stands across that way; more is higher up.
    across: f64,
    size: f64,
    glyphs: Vec<Read>,
}

impl Run {
    fn begins(&self) -> f64 {
        self.glyphs.first().map_or(0.0, |glyph| glyph.begins)
    }

    fn ends(&self) -> f64 {
        self.glyphs.last().map_or(0.0, |glyph| glyph.ends)
    }
}

/// Hears every glyph that is drawn, and draws nothing.
#[derive(Default)]
struct Listener {
    runs: Vec<Run>,
}

impl<'a> Device<'a> for Listener {
    fn draw_glyph_run(&mut self, run: &GlyphRun<'_, 'a>, props: DrawProps<'a>, _: &DrawMode) {
        let mut heard: Option<Run> = None;
        for glyph in run.glyphs() {
            let placed = props.transform * glyph.transform();
            let origin = placed * Point::ORIGIN;
            // A glyph is laid out on an em of 1,000.
            let em: Vec2 = placed * Point::new(1_000.0, 0.0) - origin;
            let way = em / em.hypot();
            let along = |point: Point| point.to_vec2().dot(way);
            let text = text_of(glyph);
            let (advance, text) = match &**glyph {
                Glyph::Outline(outline) => (outline.advance_width(), text),
                Glyph::Type3(drawn) => (drawn.advance_width(), text),
            };
            let end = placed * Point::new(f64::from(advance.unwrap_or(0.0)), 0.0);
            let read = Read {
                text,
                begins: along(origin),
                ends: along(end),
            };
            let across = origin.to_vec2().dot(Vec2::new(-way.y, way.x));
            heard
                .get_or_insert_with(|| Run {
                    degrees: whole(em.atan2().to_degrees()),
                    across,
                    size: em.hypot(),
                    glyphs: Vec::new(),
                })
                .glyphs
                .push(read);
        }
        self.runs.extend(heard);
    }

    fn draw_path(&mut self, _: &BezPath, _: DrawProps<'a>, _: &DrawMode) {}
    fn push_clip_path(&mut self, _: &ClipPath) {}
    fn push_transparency_group(&mut self, _: f32, _: Option<SoftMask<'a>>, _: BlendMode) {}
    fn draw_image(&mut self, _: Image<'a, '_>, _: ImageDrawProps<'a>) {}
    fn pop_clip(&mut self) {}
    fn pop_transparency_group(&mut self) {}
}

fn text_of(glyph: &Glyph) -> String {
    // Glyph 0 is the box that fonts draw for what they do not have.
    let missing = matches!(glyph, Glyph::Outline(outline) if outline.glyph_id().to_u32() == 0);
    match glyph.as_unicode() {
        Some(BfString::Char(c)) if !missing => c.to_string(),
        Some(BfString::String(text)) if !missing => text,
        _ => '\u{fffd}'.to_string(),
    }
}

#[allow(clippy::cast_possible_truncation, reason = "degrees are few")]
fn whole(degrees: f64) -> i64 {
    degrees.round() as i64
}

/// Runs this near to one baseline stand on it, in points.
const SAME_BASELINE: f64 = 0.5;
/// A gap this wide parts words, in heights of the smaller type beside it.
const WORD_GAP: f64 = 0.15;
/// A gap this wide parts columns, in heights of the larger.
const COLUMN_GAP: f64 = 1.5;

/// Joins the runs that stand together into lines, each at the place of the first that was drawn.
fn as_read(runs: Vec<Run>) -> String {
    let mut runs: Vec<(usize, Run)> = runs.into_iter().enumerate().collect();
    runs.sort_by(|(_, a), (_, b)| {
        let baseline = a
            .degrees
            .cmp(&b.degrees)
            .then(b.across.total_cmp(&a.across));
        baseline.then(a.begins().total_cmp(&b.begins()))
    });
    let mut lines: Vec<(usize, String)> = Vec::new();
    for baseline in runs.chunk_by(|(_, a), (_, b)| {
        a.degrees == b.degrees && (a.across - b.across).abs() < SAME_BASELINE
    }) {
        let mut baseline: Vec<&(usize, Run)> = baseline.iter().collect();
        baseline.sort_by(|(_, a), (_, b)| a.begins().total_cmp(&b.begins()));
        let apart = |left: &&(usize, Run), right: &&(usize, Run)| {
            let (left, right) = (&left.1, &right.1);
            right.begins() - left.ends() > COLUMN_GAP * left.size.max(right.size)
        };
        for together in baseline.chunk_by(|left, right| !apart(left, right)) {
            let drawn = together.iter().map(|(drawn, _)| *drawn).min();
            let line = joined(together.iter().map(|(_, run)| run));
            lines.push((drawn.unwrap_or_default(), line));
        }
    }
    lines.sort_by_key(|(drawn, _)| *drawn);
    lines.into_iter().map(|(_, line)| line + "\n").collect()
}

fn joined<'a>(runs: impl Iterator<Item = &'a Run>) -> String {
    let mut text = String::new();
    let mut end: Option<(f64, f64)> = None;
    for run in runs {
        for glyph in &run.glyphs {
            if let Some((ended, size)) = end {
                let gap = glyph.begins - ended;
                let parted = text.ends_with(char::is_whitespace) || glyph.text == " ";
                if gap > WORD_GAP * run.size.min(size) && !parted {
                    text.push(' ');
                }
            }
            text.push_str(&glyph.text);
            end = Some((glyph.ends, run.size));
        }
    }
    text.trim().to_owned()
}
