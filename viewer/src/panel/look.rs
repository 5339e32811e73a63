//! How the panel looks: its sizes, its colours, its lines and its signs.
//!
//! A sign is a shape with a word first and a colour second: what is a circle, a triangle or a crossed square in colour is
//! that in grey too.

use kiss3d::egui::{
    Align2, Button, Color32, CornerRadius, CursorIcon, FontId, Frame, Margin, Pos2, Rect, Response, RichText, Sense,
    Shape, Stroke, StrokeKind, TextStyle, Ui, Vec2, Visuals, WidgetInfo, WidgetType, pos2, vec2,
};
use tubewright::clearance::Verdict;
use tubewright::plan::PlanStep;

/// Letters of running words, points.
pub(super) const WORDS: f32 = 16.0;
/// Letters that are read at arm's length.
pub(super) const LARGE: f32 = 24.0;
/// Height of a line of the list.
const LINE: f32 = 30.0;

const PAPER: Color32 = Color32::from_rgb(247, 245, 239);
const SHEET: Color32 = Color32::from_rgb(255, 255, 252);
const INK: Color32 = Color32::from_rgb(26, 30, 34);
const RULE: Color32 = Color32::from_rgb(196, 190, 176);
const BLUE: Color32 = Color32::from_rgb(20, 74, 110);
const PALE: Color32 = Color32::from_rgb(221, 232, 238);
const CLEAR: Color32 = Color32::from_rgb(24, 110, 62);
const TIGHT: Color32 = Color32::from_rgb(176, 106, 0);
const CONTACT: Color32 = Color32::from_rgb(172, 30, 30);
const OLD: Color32 = Color32::from_rgb(255, 229, 168);

/// Sets sizes and colours for a part of the window.
pub(super) fn set(ui: &mut Ui) {
    let style = ui.style_mut();
    for (name, font) in &mut style.text_styles {
        font.size = match name {
            TextStyle::Small => 14.0,
            TextStyle::Heading => LARGE,
            _ => WORDS,
        };
    }
    style.spacing.item_spacing = vec2(8.0, 6.0);
    style.spacing.button_padding = vec2(9.0, 5.0);
    style.spacing.interact_size = vec2(40.0, 28.0);
    style.spacing.slider_width = 220.0;
    // Beside what it scrolls, never over it.
    style.spacing.scroll = kiss3d::egui::style::ScrollStyle::solid();
    let mut visuals = Visuals::light();
    visuals.override_text_color = Some(INK);
    visuals.panel_fill = PAPER;
    visuals.extreme_bg_color = SHEET;
    visuals.selection.bg_fill = PALE;
    visuals.selection.stroke = Stroke::new(1.5, BLUE);
    // A blinking cursor would have the whole picture drawn again and again.
    visuals.text_cursor.blink = false;
    let widgets = &mut visuals.widgets;
    for (widget, fill, edge) in [
        (&mut widgets.inactive, SHEET, Stroke::new(1.0, RULE)),
        (&mut widgets.hovered, PALE, Stroke::new(1.5, BLUE)),
        (&mut widgets.active, PALE, Stroke::new(2.0, BLUE)),
        (&mut widgets.open, PALE, Stroke::new(1.0, BLUE)),
    ] {
        widget.weak_bg_fill = fill;
        widget.bg_fill = if fill == SHEET { RULE } else { fill };
        widget.bg_stroke = edge;
        widget.corner_radius = CornerRadius::same(2);
    }
    widgets.noninteractive.bg_stroke = Stroke::new(1.0, RULE);
    style.visuals = visuals;
}

/// The sheet that the panel stands on, over whatever the window has there.
pub(super) fn sheet(ui: &mut Ui, add: impl FnOnce(&mut Ui)) {
    Frame::new().fill(PAPER).inner_margin(Margin::same(8)).show(ui, |ui| {
        ui.set_min_size(ui.available_size());
        add(ui);
    });
}

/// The same, as high as what stands on it.
pub(super) fn strip(ui: &mut Ui, add: impl FnOnce(&mut Ui)) {
    Frame::new().fill(PAPER).inner_margin(Margin::symmetric(8, 4)).show(ui, |ui| {
        ui.set_width(ui.available_width());
        add(ui);
    });
}

/// Something that is to be seen at once, in a frame of its own.
pub(super) fn box_of(ui: &mut Ui, add: impl FnOnce(&mut Ui)) {
    Frame::new().fill(OLD).stroke(Stroke::new(2.0, INK)).inner_margin(Margin::same(8)).show(ui, |ui| {
        ui.set_width(ui.available_width());
        add(ui);
    });
}

/// A button that stays down while what it stands for is chosen; whether it was pressed.
pub(super) fn choice(ui: &mut Ui, chosen: bool, words: &str) -> bool {
    ui.add(Button::new(words).selected(chosen)).clicked()
}

/// A heading between the parts of the list.
pub(super) fn heading(ui: &mut Ui, words: &str) {
    ui.add_space(8.0);
    ui.label(RichText::new(words).size(WORDS + 2.0).strong().color(BLUE));
}

/// A line of the list that opens where it stands: its name at the left, its figures at the right. `mark` is a sign before
/// the figures.
pub(super) fn line(ui: &mut Ui, open: bool, name: &str, figures: &str, mark: Option<Sign>, wrong: bool) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), LINE), Sense::click());
    let said = if figures.is_empty() { name.to_owned() } else { format!("{name}: {figures}") };
    response.widget_info(|| WidgetInfo::selected(WidgetType::SelectableLabel, ui.is_enabled(), open, &said));
    if ui.is_rect_visible(rect) {
        let painter = ui.painter_at(rect);
        let fill = if open || response.hovered() { PALE } else { SHEET };
        painter.rect_filled(rect, CornerRadius::same(2), fill);
        let edge = if response.has_focus() { Stroke::new(2.0, BLUE) } else { Stroke::new(1.0, RULE) };
        painter.rect_stroke(rect, CornerRadius::same(2), edge, StrokeKind::Inside);
        let middle = rect.center().y;
        arrow(ui, pos2(rect.left() + 14.0, middle), open);
        let font = FontId::proportional(WORDS);
        let mut right = rect.right() - 10.0;
        let figures = painter.layout_no_wrap(figures.to_owned(), FontId::proportional(WORDS - 1.0), INK);
        let start = pos2(right - figures.size().x, middle - figures.size().y / 2.0);
        right = start.x;
        painter.galley(start, figures, INK);
        if let Some(mark) = mark {
            right -= 18.0;
            sign(ui, pos2(right, middle), mark);
        }
        let mut left = rect.left() + 28.0;
        if wrong {
            cross(ui, pos2(left + 6.0, middle));
            left += 20.0;
        }
        let room = Rect::from_min_max(pos2(left, rect.top()), pos2(right - 8.0, rect.bottom()));
        ui.painter_at(room).text(pos2(left, middle), Align2::LEFT_CENTER, name, font, INK);
    }
    response.on_hover_cursor(CursorIcon::PointingHand)
}

fn arrow(ui: &Ui, at: Pos2, open: bool) {
    let points = if open {
        vec![at + vec2(-5.0, -3.0), at + vec2(5.0, -3.0), at + vec2(0.0, 5.0)]
    } else {
        vec![at + vec2(-3.0, -5.0), at + vec2(5.0, 0.0), at + vec2(-3.0, 5.0)]
    };
    ui.painter().add(Shape::convex_polygon(points, BLUE, Stroke::NONE));
}

fn cross(ui: &Ui, at: Pos2) {
    let stroke = Stroke::new(2.5, CONTACT);
    ui.painter().line_segment([at + vec2(-5.0, -5.0), at + vec2(5.0, 5.0)], stroke);
    ui.painter().line_segment([at + vec2(-5.0, 5.0), at + vec2(5.0, -5.0)], stroke);
}

/// How a step stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Sign {
    /// Every gap is kept.
    Clear,
    /// Some gap is under what is to be kept.
    Tight,
    /// It could not be proved.
    Unproven,
    /// The tube touches.
    Contact,
    /// A limit of the bender is broken, whatever the gaps are.
    Blocked,
}

impl Sign {
    /// How a step stands: a broken limit counts before its gaps.
    pub(super) fn of(step: &PlanStep) -> Self {
        match step.verdict {
            Verdict::Contact => Self::Contact,
            _ if !step.blocked_by.is_empty() => Self::Blocked,
            Verdict::Clear => Self::Clear,
            Verdict::Tight => Self::Tight,
            Verdict::Unproven => Self::Unproven,
        }
    }

    /// The same in words.
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::Clear => "clear",
            Self::Tight => "TIGHT",
            Self::Unproven => "NOT PROVED",
            Self::Contact => "CONTACT",
            Self::Blocked => "BLOCKED",
        }
    }
}

/// A disc, a triangle, an open square, a crossed square, a barred disc.
fn sign(ui: &Ui, at: Pos2, sign: Sign) {
    let painter = ui.painter();
    let white = Stroke::new(2.0, Color32::WHITE);
    match sign {
        Sign::Clear => {
            painter.circle_filled(at, 6.5, CLEAR);
        }
        Sign::Tight => {
            let points = vec![at + vec2(0.0, -7.0), at + vec2(7.5, 6.0), at + vec2(-7.5, 6.0)];
            painter.add(Shape::convex_polygon(points, TIGHT, Stroke::NONE));
        }
        Sign::Unproven => {
            let square = Rect::from_center_size(at, Vec2::splat(13.0));
            painter.rect_stroke(square, CornerRadius::ZERO, Stroke::new(2.0, INK), StrokeKind::Inside);
        }
        Sign::Contact => {
            let square = Rect::from_center_size(at, Vec2::splat(14.0));
            painter.rect_filled(square, CornerRadius::ZERO, CONTACT);
            painter.line_segment([square.left_top(), square.right_bottom()], white);
            painter.line_segment([square.right_top(), square.left_bottom()], white);
        }
        Sign::Blocked => {
            painter.circle_filled(at, 7.5, CONTACT);
            painter.line_segment([at + vec2(-4.5, 0.0), at + vec2(4.5, 0.0)], white);
        }
    }
}

/// How a step stands, as sign and word.
pub(super) fn stands(ui: &mut Ui, how: Sign, size: f32) {
    ui.horizontal(|ui| {
        let (rect, _) = ui.allocate_exact_size(Vec2::splat(18.0), Sense::hover());
        sign(ui, rect.center(), how);
        ui.label(RichText::new(how.words()).size(size).strong());
    });
}

/// A mistake, with a cross before it.
pub(super) fn wrong(ui: &mut Ui, message: &str, help: &str) {
    ui.horizontal_top(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(14.0, 20.0), Sense::hover());
        cross(ui, rect.center());
        ui.vertical(|ui| {
            ui.label(RichText::new(message).strong().color(CONTACT));
            if !help.is_empty() {
                ui.label(RichText::new(help).size(WORDS - 1.0));
            }
        });
    });
}
