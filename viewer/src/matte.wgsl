// Surfaces without gloss: two lamps that go along with the eye. The light is worked out at the corners, so that a picture costs little where it is
// drawn by the processor. What is seen through is drawn with gaps, which shows on any screen and in black and white.

struct Frame {
    view: mat4x4<f32>,
    projection: mat4x4<f32>,
}

struct Surface {
    // Red, green, blue as they come to the screen, and the fill: 0 whole, 1 slanted strokes, 2 dots.
    colour: vec4<f32>,
}

@group(0) @binding(0) var<uniform> frame: Frame;
@group(1) @binding(0) var<uniform> surface: Surface;

struct Corner {
    @builtin(position) at: vec4<f32>,
    @location(0) colour: vec3<f32>,
}

@vertex
fn corner(@location(0) point: vec3<f32>, @location(1) outward: vec3<f32>) -> Corner {
    let seen = normalize((frame.view * vec4<f32>(outward, 0.0)).xyz);
    let above = max(dot(seen, normalize(vec3<f32>(-0.35, 0.85, 0.45))), 0.0);
    let front = max(dot(seen, normalize(vec3<f32>(0.45, 0.10, 0.90))), 0.0);
    var corner: Corner;
    corner.at = frame.projection * frame.view * vec4<f32>(point, 1.0);
    corner.colour = surface.colour.rgb * (0.48 + 0.40 * above + 0.26 * front);
    return corner;
}

@fragment
fn fill(corner: Corner) -> @location(0) vec4<f32> {
    let pixel = vec2<i32>(corner.at.xy);
    if (surface.colour.a == 1.0 && (pixel.x + pixel.y) % 6 > 1) {
        discard;
    }
    if (surface.colour.a == 2.0 && (pixel.x % 4 > 1 || pixel.y % 4 > 1)) {
        discard;
    }
    return vec4<f32>(corner.colour, 1.0);
}
