//! How much work each phase of a plan is, for one number of progress.

use grisaille_base::Leg;
use grisaille_scheme::{LightChoice, Scheme};

/// The phases of [`plan`](crate::plan()) for a scheme, in their order, for
/// [`grisaille_base::Progress`]. The unit of work is one direction of light over
/// all samples; what the other phases are beside that was measured on the diver
/// and holds to a factor of two or so.
#[must_use]
pub fn legs(scheme: &Scheme) -> Vec<Leg> {
    let leg = |phase, work: usize| Leg { phase, work: work as f64, spans: 1 };
    let mut legs = vec![leg("structure", 8), leg("surface", 40)];
    for light in &scheme.lights {
        let soft = |radius: f64| if radius > 0.0 { scheme.fineness.soft_directions } else { 1 };
        legs.push(match light.choice {
            LightChoice::Zenithal { radius, .. } => leg("zenithal", soft(radius)),
            LightChoice::Ring => leg("ring", scheme.fineness.ring_directions),
            LightChoice::Ambient { .. } => leg("ambient", scheme.fineness.ambient_directions),
            LightChoice::Lamp { radius, .. } => leg("lamps", soft(radius.0)),
        });
    }
    if scheme.bounce.is_on() {
        legs.push(leg("bounce", 2 * scheme.bounce.directions));
    }
    legs.push(leg("plan", 60));
    if scheme.primer.wanted && scheme.primer.tones.is_some() {
        // The grid, thrice round the best of it, and the chosen ones on all samples.
        legs.push(Leg { spans: 5, ..leg("spray", 100) });
        legs.push(leg("dry brush", 40));
    }
    legs
}
