//! The programs of the graphics side: the figure from one number for each sample, copies, the blur of an eye.

pub(super) const VERTEX: &str = "
uniform vec4 row_x;
uniform vec4 row_y;
uniform vec4 row_z;
uniform vec3 toward;
in vec3 position;
in vec3 normal;
in float value;
in float mark;
out float smooth_value;
flat out float label;
out vec3 blend;
out float along;
out float within;
out float facing;
void main() {
    vec4 p = vec4(position, 1.0);
    gl_Position = vec4(dot(row_x, p), dot(row_y, p), dot(row_z, p), 1.0);
    smooth_value = value;
    label = value;
    blend = mod(floor(vec3(value + 0.5) / vec3(65536.0, 256.0, 1.0)), 256.0) / 255.0;
    along = value - 128.0 * floor(value / 128.0);
    within = mark;
    facing = abs(dot(normal, toward));
}
";

// L* to luminance: CIE 15:2018; to sRGB: IEC 61966-2-1.
pub(super) const FRAGMENT: &str = "
uniform float mode;
uniform float count;
uniform float borders[8];
uniform vec4 tones[16];
uniform float pitch;
uniform sampler2D scale;
uniform sampler2D ramps;
in float smooth_value;
flat in float label;
in vec3 blend;
in float along;
in float within;
in float facing;
layout (location = 0) out vec4 colour;

float srgb(float l) {
    float y = l > 8.0 ? pow((l + 16.0) / 116.0, 3.0) : l / 903.2963;
    return y <= 0.0031308 ? 12.92 * y : 1.055 * pow(y, 1.0 / 2.4) - 0.055;
}

// How much of the ink of a pattern covers this place.
float ink(float kind, vec2 at) {
    float thin = 0.22;
    vec2 c = at / pitch;
    float rising = abs(fract((c.x - c.y) * 0.7071) - 0.5);
    float falling = abs(fract((c.x + c.y) * 0.7071) - 0.5);
    if (kind < 0.5) return 0.0;
    if (kind < 1.5) {
        vec2 d = fract(vec2(c.x + 0.5 * mod(floor(c.y), 2.0), c.y)) - 0.5;
        return length(d) < 0.22 ? 1.0 : 0.0;
    }
    if (kind < 2.5) return falling < thin * 0.5 ? 1.0 : 0.0;
    if (kind < 3.5) return rising < thin * 0.5 ? 1.0 : 0.0;
    if (kind < 4.5) return min(rising, falling) < thin * 0.5 ? 1.0 : 0.0;
    if (kind < 5.5) return abs(fract(c.x) - 0.5) < thin * 0.5 ? 1.0 : 0.0;
    return abs(fract(c.y) - 0.5) < thin * 0.5 ? 1.0 : 0.0;
}

void main() {
    float form = smoothstep(0.02, 0.30, facing);
    float step_rise = fwidth(along);
    vec3 c;
    if (mode < 0.5) {
        c = vec3(srgb(clamp(smooth_value, 0.0, 100.0)));
    } else if (mode < 1.5) {
        int band = 0;
        float line = 0.0;
        float wide = fwidth(smooth_value);
        for (int i = 0; i < 8; i++) {
            if (float(i) < count) {
                if (smooth_value >= borders[i]) band = i + 1;
                if (wide > 1e-5) {
                    line = max(line, 1.0 - smoothstep(0.4, 1.1, abs(smooth_value - borders[i]) / wide));
                }
            }
        }
        c = tones[band].rgb;
        float towards = dot(c, vec3(0.333)) > 0.45 ? 0.0 : 1.0;
        c = mix(c, vec3(towards), 0.28 * line);
        c = mix(vec3(0.06), c, 0.45 + 0.55 * form);
    } else if (mode < 2.5) {
        c = texture(scale, vec2(clamp(smooth_value, 0.0, 1.0), 0.5)).rgb;
        c *= 0.75 + 0.25 * form;
    } else if (mode < 3.5) {
        vec4 tone = tones[int(clamp(label + 0.5, 0.0, 15.0))];
        float dark = dot(tone.rgb, vec3(0.333)) > 0.45 ? 0.0 : 1.0;
        c = mix(tone.rgb, vec3(dark), 0.35 * ink(tone.a, gl_FragCoord.xy));
        c *= 0.55 + 0.45 * smoothstep(0.0, 0.8, facing);
    } else if (mode < 4.5) {
        c = vec3(0.16 + 0.42 * facing);
    } else if (mode > 6.5) {
        // Each row of the texture is a ramp: colours, and beside each where it ends.
        int row = int(floor(label / 128.0));
        int at = 0;
        float line = 0.0;
        for (int i = 0; i < 7; i++) {
            float border = texelFetch(ramps, ivec2(i, row), 0).a;
            if (along >= border) at = i + 1;
            if (step_rise > 1e-5) {
                line = max(line, 1.0 - smoothstep(0.3, 0.9, abs(along - border) / step_rise));
            }
        }
        c = texelFetch(ramps, ivec2(at, row), 0).rgb;
        float towards = dot(c, vec3(0.333)) > 0.45 ? 0.0 : 1.0;
        c = mix(c, vec3(towards), 0.22 * line);
    } else if (mode > 5.5) {
        c = blend;
    } else {
        c = mod(floor(vec3(label + 0.5) / vec3(65536.0, 256.0, 1.0)), 256.0) / 255.0;
        c *= 0.55 + 0.45 * smoothstep(0.0, 0.8, facing);
    }
    // What is chosen is left out of the alpha, where the copy finds its outline.
    colour = vec4(c, within > 0.45 ? 0.0 : 1.0);
}
";

// One triangle over all of the picture. Its corners come from a buffer: without
// any, no vertex array is bound and OpenGL's core profile draws nothing.
pub(super) const WHOLE: &str = "
in vec2 corner;
out vec2 uv;
void main() {
    uv = 0.5 * corner + 0.5;
    gl_Position = vec4(corner, 0.0, 1.0);
}
";

// Round what is chosen runs a line of brass within a dark one: seen on any colour.
pub(super) const COPY: &str = "
uniform sampler2D picture;
uniform vec4 line;
in vec2 uv;
layout (location = 0) out vec4 colour;
void main() {
    vec4 here = texture(picture, uv);
    vec3 c = here.rgb;
    if (line.z > 0.0) {
        float brass = 0.0;
        float dark = 0.0;
        for (int i = 0; i < 8; i++) {
            vec2 way = vec2(cos(0.7853982 * float(i)), sin(0.7853982 * float(i))) * line.xy;
            brass = max(brass, 1.0 - texture(picture, uv + way * line.z).a);
            dark = max(dark, 1.0 - texture(picture, uv + way * line.z * 1.8).a);
        }
        c = mix(c, vec3(0.06), dark * here.a);
        c = mix(c, vec3(1.0, 0.80, 0.34), brass * here.a);
    }
    colour = vec4(c, 1.0);
}
";

// A Gaussian along one direction, summed in linear light as an eye does.
pub(super) const BLUR: &str = "
uniform sampler2D picture;
uniform vec4 way;
in vec2 uv;
layout (location = 0) out vec4 colour;
vec3 linear(vec3 c) {
    return mix(c / 12.92, pow((c + 0.055) / 1.055, vec3(2.4)), step(vec3(0.04045), c));
}
vec3 coded(vec3 c) {
    return mix(c * 12.92, 1.055 * pow(c, vec3(1.0 / 2.4)) - 0.055, step(vec3(0.0031308), c));
}
void main() {
    float sigma = way.z;
    vec3 sum = vec3(0.0);
    float all = 0.0;
    int reach = int(min(ceil(2.5 * sigma), 40.0));
    for (int i = -40; i <= 40; i++) {
        if (abs(i) <= reach) {
            float w = exp(-0.5 * float(i * i) / (sigma * sigma));
            sum += w * linear(texture(picture, uv + way.xy * float(i)).rgb);
            all += w;
        }
    }
    colour = vec4(coded(sum / all), 1.0);
}
";
