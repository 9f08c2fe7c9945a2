# The wording of the printed sheets of grisaille, one sentence to a key, in the Fluent syntax (Project Fluent).
#
# To translate: copy this file, translate what stands after each `=`, leave keys and `{ $names }` as they are, and
# print with `grisaille guide ... --words FILE`. What a translation leaves out stays English. Names that the painter
# gave (regions, lights, paints, files) are never translated. Lengths are written in mm, mm², cm and cm² and turned
# into inches where they are wanted, so keep the unit right behind its number.

# The tag of this language (BCP 47), such as en, de or pt-BR.
language = en

## ---- Joining

list-more = { $list }, { $next }
list-last = { $list } and { $last }
mix-more = { $list } : { $next }
mix-part = { $n ->
    [one] { $n } part { $paint }
   *[other] { $n } parts { $paint }
 }
what-of-region = { $region }, { $what }
what-more = { $list }; { $next }
share = { $percent } %
share-trace = less than 1 %
letters-more = { $list } and { $next }

## ---- Where from

side-front = from the front
side-front-right = from the front right
side-right = from the right as you look at its front
side-back-right = from the back right
side-back = from the back
side-back-left = from the back left
side-left = from the left as you look at its front
side-front-left = from the front left
side-middle = in the middle
spray-side-front = from the front
spray-side-front-right = from the front right
spray-side-right = from your right
spray-side-back-right = from the back right
spray-side-back = from the back
spray-side-back-left = from the back left
spray-side-left = from your left
spray-side-front-left = from the front left
spray-down = straight down
spray-level = level, { $side }
spray-from-below = { $side }, { $up }° up from below
spray-tilted = { $side }, { $tilt }° off straight down
falloff-close = full close by
falloff-full = full at { $mm } mm
falloff-everywhere = full at every distance
falloff-quarter = a quarter at { $mm } mm
falloff-end = nothing from { $mm } mm on

## ---- What can hurt

caution-spray = Spray fumes and mist: outdoors or in a ducted booth, no flames or sparks near, mask with filters for organic vapour and particles, as the can's label and safety data sheet and your local rules say.
caution-dust = Sanding dust: sand wet, wear a particle mask.
caution-dust-and-blades = Sanding dust: sand wet, wear a particle mask. Blades: cut away from the hand.
caution-scraping = Scraping: Sanding dust: sand wet, wear a particle mask. Blades: cut away from the hand.
caution-stripper = Paint stripper: gloves, eye protection, fresh air, no flames, as its safety data sheet says.
caution-resin = Uncured resin irritates and can make you allergic: nitrile gloves, eye protection, no bare skin; see its safety data sheet. Isopropyl alcohol burns easily: fresh air, no flames.
caution-varnish = Varnish from a can or airbrush counts as spray.
caution-varnish-brush = Varnish gives off vapour: fresh air, no flames, as its label and safety data sheet and your local rules say.
caution-glue = Glue gives off vapour and bonds skin: fresh air, eye protection, no fingers in the joint, as the product's safety data sheet says.
caution-superglue = Glue with moving air; superglue bonds skin at once and its vapour stings. Cut and scrape away from you, with your other hand behind the blade. Follow the glue's own safety data sheet.

## ---- How long it dries, how thin it is (common practice; the product's label counts)

drying-primer = 15 to 60 minutes to the touch
drying-overnight = overnight before handling
drying-acrylic = 10 to 20 minutes for a thin coat of acrylic, until it no longer shines wet
drying-thin-acrylic = 5 to 30 minutes for thin acrylic, until it no longer shines wet
drying-between-coats = an hour between coats, overnight before dry brushing
drying-between-layers = 5 minutes, until it no longer shines wet
drying-five-minutes = 5 minutes, until it no longer shines wet
drying-ten-minutes = 10 minutes, until it no longer shines wet
drying-twenty-minutes = 20 minutes, until it no longer shines wet
drying-glaze = 20 to 30 minutes, until it no longer shines
drying-wash = 30 to 60 minutes; it must not shine any more
drying-pin-wash = 30 to 60 minutes; a clean brush must not move it any more
drying-gloss = one to two hours, until a fingertip leaves no mark
drying-before-gluing = an hour, so that nothing sticks to it
drying-glue = as the label says; overnight is safe
thin-milk = 2 parts paint to 1 part water: like milk
thin-two-to-one = 2 parts paint to 1 part water
thin-metal = 4 parts paint to 1 part water; keep this water for metallic paint only
thin-from-bottle = as it comes from the bottle, if the label says so
thin-dry = none: dry paint
thin-trace = as it comes, a trace of water
thin-wash = 1 part paint to 3 parts water or wash medium, unless it comes as a wash
thin-pin-wash = 1 part paint to 4 parts water or wash medium
thin-lining = 1 part paint to 2 parts water: it flows, but does not run
thin-lamp = 1 part paint to 2 parts water, in several layers
thin-shades = 1 part paint to 1 part water; 1 to 2 for the ways between
thin-base = 2 parts paint to 1 part water; none for the dry brush
thin-glaze-one = 1 part paint to 6 parts water or glaze medium, one coat
thin-glaze-one-or-two = 1 part paint to 4 parts water or glaze medium, one or two coats
thin-glaze-two-or-three = 1 part paint to 3 parts water or glaze medium, two or three coats
thin-glaze-three = 1 part paint to 2 parts water or glaze medium, three coats

## ---- Stages: cleaning and priming

prepare-title = Clean the print
prepare-supports = Remove supports and their scars.
prepare-wash = Wash off grease and dust, and let it dry fully.
prepare-handle = Fix the figure on a handle so that fingers stay off it.
prepare-one-print = It is one print: nothing is to be painted before gluing.
prepare-done = no shiny or sticky spot is left anywhere.
prepare-mistake = A sticky spot is uncured resin; primer will not hold on it.
prepare-repair = Wash and cure again.

thin-primer = from the can as it is; through an airbrush as its label says
dark-title = Dark coat all over
dark-spray = Spray dark primer thinly from every side, from below too, until no bare print shows.
dark-tone = Tone: L* { $tone }. It stays visible where no later coat comes.
dark-done = the whole figure is one even dark, and every detail is still crisp.
dark-mistake = Too wet, and it runs into the recesses.
dark-repair = Let it dry, sand or strip; two thin coats are better than one thick one.

dark-brush-title = Dark coat by brush
dark-brush-on = Brush on dark primer in two thin coats; push it into recesses and wipe off what gathers.
dark-brush-brush = flat, 6 mm
dark-brush-done = no bare print shows, and every detail is still crisp.
dark-brush-mistake = Brush marks dry into ridges.
dark-brush-repair = Let it dry, sand wet and lightly, and give it another thin coat.

mid-title = Mid grey from all round
mid-spray = Hold can or airbrush 45° above the figure and go once all round it, in short passes.
mid-not-below = Nothing from below.
mid-tone = Tone: L* { $tone } where the light falls freely.
mid-done = undersides and recesses are still dark, and what lies open reads as mid grey.
mid-mistake = The recesses turned grey too.
mid-repair = Run thinned dark paint into them before the light coat.

light-title = Light coat from straight above
light-title-tilted = Light coat from above, { $tilt }° tilted
light-spray = One or two light passes from straight above, and from nowhere else.
light-spray-tilted = One or two light passes from { $tilt }° off straight above, { $side }, and from nowhere else.
light-tone = Tone: L* { $tone } on the brightest spots.
light-done = at arm's length, it is as light and as dark as this card's picture; what a lamp lights comes later.
light-mistake = Everything turned light.
light-repair = Spray the dark once from straight below: the shadows come back.

dry-brush-mid-title = Dry brush, mid tone
dry-brush-mid = Stroke downward over all raised forms, from every side.
dry-brush-light-title = Dry brush, light tone
dry-brush-light = Stroke only where the main light falls: tops of head, shoulders, arms, boots.
dry-brush-load = Load a dry brush, wipe it on paper until it leaves hardly a trace.
dry-brush-tone = Tone: L* { $tone }.
dry-brush-brush = soft round make-up brush or dry brush, 8 mm
dry-brush-done = raised forms carry the tone, recesses are untouched.
dry-brush-mistake = Streaks or dust: too much paint, or paint half dried.
dry-brush-repair = Wash the brush, brush the dark once lightly over the streaks, begin again with less.

ground-picture = Take a picture of it in even light: it is the reference for everything after.

lamp-title = Lit by '{ $name }'
lamp-brighten = With thinned light paint brighten what faces the lamp: { $falloff }.
lamp-rules = It rules { $share } % of the surface; leave the rest alone.
lamp-itself = The lamp itself is the brightest of all: L* { $tone }.
lamp-done = the eye goes to the lamp first, and light falls off evenly from there.
lamp-mistake = A lit spot outshines the lamp.
lamp-repair = Glaze it down with a thin darker tone.

compare-title = Compare and stop
compare-beside = Hold the figure beside the values sheet under even light.
compare-squint = Step back to arm's length and squint.
compare-mend = Mend what reads darker or lighter than the sheet.
compare-done = squinting, figure and sheet show the same pattern of dark and light.
compare-mistake = All of it reads as one grey.
compare-repair = Take the mid coat's tone darker, or the light coat narrower.
compare-beside-painted = Hold the figure beside the pictures of this card under even light.
compare-ends = Hold a value scale beside it: lines, edges and touches apart, { $light } comes to { $high } and is the lightest, { $dark } to { $low } and is the darkest.
compare-metal = Leave { $regions } out of it: metal shows the light of your room by itself.
compare-mend-painted = Mend what reads darker or lighter than the picture.
compare-done-painted = squinting, the figure shows the same pattern of dark and light as the grey picture.
compare-repair-painted = Glaze the shadows with the darkest mix of the region, 1 part to 4 parts water, and lay its lightest once more on the lights: the far ends first, the middle last.

## ---- Stages: several files

joint = { $file } { $area } mm²
part-of-file = { $file }: { $region }
fit-title = Put the parts together without glue
fit-cover = Cover the joints with tacky putty or tape, so that they stay bare: { $joints }.
fit-press = Press the parts together on it: the light is planned for the whole figure, and so is the primer.
fit-done = it stands by itself as it will once glued.
fit-mistake = A part sits askew, and its shadow is primed in the wrong place.
fit-repair = Take it off and press it on anew; trim what keeps the joint open.

before-title = Before gluing: paint what closes up
before-take-off = Take the parts off their putty again.
before-area = { $file }: { $area } mm² that no brush reaches later.
before-area-at = { $file }: { $area } mm² that no brush reaches later, most of it { $up } mm up, { $side }.
before-keep-bare = Keep the joints bare, glue holds on print and not on paint: { $joints }.
before-brush = round, size 1
before-done = held together, no primer is seen in the gap from any side.
before-mistake = Paint on a joint.
before-repair = Scrape it off down to the print before gluing.

glue-title = Glue the parts together
glue-scrape = Scrape putty and paint off both sides of each joint and try it once more: { $joints }.
glue-roughen = Roughen both sides of each joint and try it once more: { $joints }.
glue-press = A little glue on one side, press, hold until it grips.
glue-fill = Fill a seam that shows, smooth it, and touch it up with the tone of the primer beside it.
glue-one-piece = Nothing closes up that a brush would not reach: it is painted in one piece.
glue-done = no part moves, and no light is seen through a joint.
glue-mistake = Glue swells out, shines or frosts what lies beside it.
glue-repair = Let it harden, cut it off, and cover what is left with the tone beside it.

## ---- What a mix is for

what-step = step { $step } of { $last }
what-step-base = step { $step } of { $last }, base
what-step-darkest = step { $step } of { $last }, darkest
what-step-lightest = step { $step } of { $last }, lightest
what-tone = tone { $tone } of { $last }
what-tone-darkest = tone { $tone } of { $last }, darkest
what-tone-lightest = tone { $tone } of { $last }, lightest
what-tone-only = one tone
what-darker-than-base = { $tone }; darker than the base coat
what-over-glaze = { $what }; the glaze alone leaves value { $value } there
what-over-tone = over the primer's tone of step { $step } of { $last }
what-over-tones = over the primer's tones of steps { $first } to { $last }
what-lit = { $what }, in the light of '{ $lamp }'
what-all-over = all over
what-in-recesses = in recesses
what-pools = where it pools
what-length = { $length } mm
what-between = between { $one } and { $other }, { $length } mm
what-edge = { $length } mm of edge
what-lines = { $n ->
    [one] line { $numbers }: { $what }
   *[other] lines { $numbers }: { $what }
 }
what-eye-liner = line of the upper lid
what-eye-white = white of the eye
what-eye-iris = iris
what-red = nose, cheeks and ears where pointed at, as a glaze, 1 part to 4 parts water
what-lip = lower lip
what-jaw = jaw, as a glaze, 1 part to 4 parts water, cooler than the skin
touches = { $n ->
    [one] { $n } touch
   *[other] { $n } touches
 }

## ---- Stages: paint

base-coat-title = Base coat: { $regions }
base-coat-paint = Paint { $regions } all over in two thin coats; let the first dry before the second.
base-coat-brush = round, size 1 or 2
base-coat-done = it is one even colour and no ground shines through.
base-coat-mistake = It went over the border.
base-coat-repair = Wipe it off at once with a damp brush; dried, go over it with the neighbour's colour.
base-coat-repair-glazed = Wipe it off at once with a damp brush; dried, go over it with the neighbour's colour or its primer's grey.

glaze-title = Glaze over the primer: { $region }
glaze-brush-on = Brush it thinly over all of { $region }, always toward the shadow, and take up what gathers.
glaze-stop = The primer's light and dark do the work: stop as soon as the colour is there.
glaze-brush = round, size 1, damp, wiped once
glaze-done = light and dark of the primer still read through one colour.
glaze-mistake = It stained: tide marks, or blotches where a half-dry spot was touched again.
glaze-repair = Let it dry fully, then glaze the spot again thinner; a stain that is too dark is lifted with the primer's grey of that place, light and dark primer mixed.

eyes-title = Eyes, before the skin is finished
eyes-with-white = Each eye is { $wide } mm wide: the dark lid first, the off-white within it, then one dark dot, both looking { $gaze }.
eyes-slit-and-dot = Each eye is { $wide } mm wide, too small for white: a dark slit and in it a dot, both { $gaze }.
eyes-slit = Each eye is { $wide } mm wide: one dark slit is all that a tip can do.
eyes-catchlight = A catchlight in each iris, on the same side, with the last touches of light.
eyes-unmarked = A dark line where the lids meet; then an off-white within it; then one dark dot, both eyes looking the same way. Mark the face in the scheme, [[face]], and its size and colours are told here.
eyes-trim = What went wide is trimmed with the skin's colours in the next stages.
eyes-brush = round, size 3/0, with a good tip
eyes-done = at arm's length both eyes look to one place.
eyes-mistake = Staring: white all round the dot.
eyes-repair = Let the dot touch the upper lid.
eyes-mistake-slit = The slit became a round hole.
eyes-repair-slit = Cut it back with the skin's colour, from below.

gaze-straight-ahead = straight ahead
gaze-to-the-left-as-you-look-at-the-face = to the left as you look at the face
gaze-to-the-right-as-you-look-at-the-face = to the right as you look at the face

shades-title = Shadows and lights: { $region }
shades-title-glazed = Correct shadows and lights: { $region }
shades-step-share = step { $step }: { $share }
shades-steps-share = steps { $steps }, one mix: { $share }
shades-how-much = In this order: { $shares }.
shades-how-much-base = In this order: { $shares }. The other { $left } stay as they are: the base coat, step { $steps }.
shades-how-much-glazed = In this order: { $shares }. The other { $left } stay as the glaze has left them.
shades-nowhere = { $n ->
    [one] { $told } Step { $steps } is not needed.
   *[other] { $told } Steps { $steps } are not needed.
 }
shades-lit = { $told } A lamp lights { $lit }: leave that to its own card.
shades-soft-border = For a softer border lay an equal mix of both steps between them. Keep off the dark lines.
shades-soft-border-one = For a softer border thin the paint once more and draw it out over its edge. Keep off the dark lines.
shades-soft-darks = Between darks lay an equal mix of both steps for a softer border. Keep off the dark lines.
shades-off-lines = Keep off the dark lines.
shades-mirrors = Lightest: what mirrors the sky just above the horizon, and the lights. Darkest: the horizon, right below it. What faces down mirrors the ground and is a mid tone.
shades-done = squinting, it looks as on the pictures; close by, no border is hard.
shades-done-crisp = squinting, it looks as on the pictures; close by, lights are crisp and darks run into each other.
shades-done-lights = squinting, it looks as on the pictures; close by, lights are narrow and crisp.
shades-mistake = Chalky lights: too much white, too dry.
shades-repair = Glaze them with the base colour, 1 part to 4 parts water.
shades-repair-glazed = Glaze them with the paint of the glaze, 1 part to 4 parts water.
face-lights = Lights on brow, bridge of the nose, cheekbones, lower lip and chin; darks in the sockets, below nose and lip.
face-darks = Darks in the sockets, below nose and lip; brow, bridge of the nose and cheekbones stay as they are, or a lamp's card lights them.
face-red = Glaze nose, cheeks and what shows of the ears red.
face-jaw = Glaze the jaw darker and cooler than the skin.

technique-matte = Lay each step beside the last and blend the border with a damp brush.
technique-satin = Keep the lights narrow and their borders crisp; only the darks are blended.
technique-satin-darks = Blend the darks into each other and into the base coat; its lights are a lamp's.
technique-satin-lights = Keep the lights narrow and their borders crisp.
technique-cloth = Hatch with thin strokes across the folds; a visible stroke reads as weave.
technique-leather = Stipple each step in dots and short scratches, the lighter the nearer to worn edges.
technique-skin = Many thin layers; draw each toward the light and let it dry before the next.
technique-tmm = Metallic paint thinly and evenly; shade it with washes, and only catch edges with the lightest.
technique-nmm = Put down dark and light reflections first, hard beside each other, then blend the way between.
technique-hair = Paint light and dark over the whole volume as if it were one mass; strands come from a wash and a dry brush.
technique-chain = Base all links, wash, then dry brush lightly toward the light; pick out a few links last.
technique-glow = Lightest in the middle and in the depths, darker and more vivid toward the rim.
brush-matte = round, size 1
brush-satin = round, size 1
brush-cloth = round, size 0
brush-leather = old round, size 0, blunt
brush-skin = round, size 0
brush-tmm = round, size 1, kept for metallic paint
brush-nmm = round, size 0
brush-hair = round, size 1, then a dry flat brush
brush-chain = dry flat brush
brush-glow = round, size 0

lamp-colour-order = On each part its darkest tone first, then each lighter one, in its own place and a little over the last: lightest nearest the lamp.
lamp-colour-order-short = Darkest first, each in its own place and a little over the last. Keep off the dark lines.
lamp-colour-darkest = A tone that is told as darker than the base coat is meant so: there the light is weak, or the form turns away from it.
lamp-colour-metal = None of it on { $regions }: metal shows the light by itself.
lamp-colour-where = Only where the lamp is seen from: { $falloff }. Stay darker than the lamp itself.
lamp-colour-feather = Feather the border over { $low } to { $high } mm with the plain step.
lamp-colour-brush = round, size 0
lamp-colour-mistake = Light on a side that the lamp does not see, or lighter than told.
lamp-colour-repair = Glaze it down with the region's dark mix, 1 part to 4 parts water; where that stains, let it dry and lay the base coat over it.
lamp-colour-repair-with = Too light or too far: glaze it down with { $mix }, 1 part to 4 parts water.
lamp-glaze = As a glaze instead: { $mix }, { $thinning }; { $verdict }.
lamp-glaze-near = that comes near to the mixes
lamp-glaze-test = test it first

## ---- Stages: accents

wash-title = Wash: { $regions }
wash-run = Let it run into the recesses; with a clean damp brush take up what gathers on open forms.
wash-one-by-one = One region after the other, so that no edge dries before it is drawn out.
wash-areas = { $n ->
    [one] It belongs into { $n } deep area, the largest { $area } mm².
   *[other] It belongs into { $n } deep areas, the largest { $area } mm².
 }
wash-brush = round, size 2, and a clean damp one
wash-done = recesses are dark and open forms keep their colour.
wash-mistake = It stained: rings where it dried on open forms.
wash-repair = Go over them with the base coat, thinly.
wash-repair-both = Over { $glazed }: lift it with the primer's grey of that place, light and dark primer mixed, let it dry, and glaze the spot again. Elsewhere: go over it with the base coat, thinly.
wash-repair-glazed = Lift them with the primer's grey of that place, light and dark primer mixed, let it dry, and glaze the spot again.

lining-title = Line the recesses
lining-which = The { $n } weightiest of { $all } recesses, darker than both sides, mixed rather than plain black.
lining-draw = Draw with the tip, { $width } mm wide; where two materials meet draw it all the way.
lining-brush = round, size 0, with a good tip
lining-done = at arm's length every material has its own outline.
lining-mistake = The line wanders onto the form.
lining-repair = Take the form's own colour up to the line from its side.

edges-title = Catch the edges
edges-which = The { $n } edges that the light strikes most, nothing on the rest.
edges-drag = Drag the side of the tip along the edge; a break in the line is fine, a thick line is not.
edges-brush = round, size 0, its side
edges-done = edges glint where the light strikes, and only there.
edges-mistake = Every edge is outlined.
edges-repair = Take back those in shadow with the region's own step.

spots-title = Last touches of light
spots-dots = { $n ->
    [one] { $n } dot with the very tip, where form and light come to a point.
   *[other] { $n } dots with the very tip, where form and light come to a point. Fewer is better than more.
 }
spots-brush = round, size 3/0, with a good tip
spots-done = each dot is a point, and the lightest of its region.
spots-mistake = A dot became a blot.
spots-repair = Wipe it off at once with a damp brush, or cover it with the lightest step.

## ---- Stages: varnish, metal, base

gloss-title = Gloss varnish: { $regions }
gloss-coat = A thin even coat by brush, so that the pin wash runs along recesses and stains nothing.
gloss-done = it shines evenly.
gloss-mistake = Frosting or dust in the varnish.
gloss-repair = Let it dry, polish with a soft cloth, give another thin coat.

pin-wash-title = Pin wash: { $regions }
pin-wash-touch = Touch the tip to the recess and let it run; nothing on open forms.
pin-wash-wipe = After ten minutes wipe off what went astray with a clean damp brush, toward the recess.
pin-wash-brush = round, size 0
pin-wash-done = recesses are drawn, open forms are clean.
pin-wash-mistake = A stain beside the recess.
pin-wash-repair = On gloss it wipes off; on matt go over it with the region's step.

matt-title = Matt varnish all over
matt-coat = Two thin coats from 20 to 30 cm; metal and what should shine come after it.
matt-coat-brush = Two thin coats, never back over what has begun to dry; metal and what should shine come after it.
varnish-brush = broad, soft and clean, 6 mm
matt-done = nothing shines that should not.
matt-mistake = White haze: too cold, too damp or too much.
matt-repair = A thin coat of gloss usually clears it; then matt again in dry warm air.

metal-title = Metallic paint: { $region }
metal-once-more = Once more, after the matt varnish, which has taken its shine; keep off its dark lines.
metal-wash = Dry, its wash into the recesses: { $thin }.
metal-one-paint = Metallic paint thinly and evenly; a wash shades it, and its edges shine by themselves.
metal-done = it shines on the forms and is dark in its recesses.
metal-mistake = Flakes in other regions.
metal-repair = Change the water; cover them with the region's step.

base-title = Base: { $regions }
base-coat = Over its base coat: the darker steps into the recesses, then dry brush the lighter ones, lightest last.
base-calmer = Keep it calmer than the figure: no touch of near-white here.
base-coat-darker = Over its base coat, which is the lightest: these steps into the recesses, darkest last.
base-lines = Line its own recesses with the darkest of these mixes, and draw the line along the figure once more where it was covered.
base-rim = A plain rim is a choice: cover it last of all, evenly, in black or the darkest of these mixes. The pictures show it in the tones of the base.
base-varnish = Dry, it gets its own matt varnish by brush; keep that off all metal.
base-brush = old round, size 2; dry flat brush
base-done = the figure stands out from it at arm's length.
base-mistake = Paint on the figure.
base-repair = Go over it with the steps of what it touched, or call it dust.

## ---- The template: what stands on the sheets themselves

print-untitled = Painting guide
print-height = Height
print-model = Model
print-caution = Caution
print-where = Where:
print-part-summary = Summary
print-part-values = Values
print-part-lights = Lights
print-part-bands = Bands
print-part-zones = Zones
print-part-primer = Primer
print-part-stages = Stages
print-part-handout = Handout
print-part-warnings = Warnings
print-measure-mm = Measure this: 50 mm
print-measure-inch = Measure this: 50 mm, 1.97 inches
print-measure-rest = from end to end. If it is not, print again at 100 %, without “fit to page”.
print-how = How to work with these sheets
print-how-words = L* and value: how light a tone is, from black, 0, to white, 100 or 10. Band: tones that are painted alike. Zenithal: from above. Ambient: dim, from everywhere. Ring: from all round. Zone: where one light is the strongest.
print-how-look = 1. Look.
print-how-look-text = Values show how light each part becomes. Squint at sheet and figure.
print-how-mix = 2. Mix.
print-how-mix-text = Bands name the tones. Paint a touch of each beside its grey and compare.
print-how-paint = 3. Paint.
print-how-paint-text = Stages stand in the order of work. Tick each when its “done when” holds.
print-summary-title = What is the plan, on one page?
print-palette = Palette
print-wanted = wanted
print-seen = seen
print-and-more = and { $n } more
print-bottles = Paints to put out
print-bottles-stages = with the stages that take them
bottle-many = { $n } stages, { $first } to { $last }
print-page = p. { $page }
print-table-ready = Table-ready
print-table-ready-text = A good place to stop: figure and base have their colours and can go on the table; varnish first, since hands rub paint off. What follows refines; the base is finished last.
print-table-ready-short = Table-ready:
print-table-ready-refines = what follows refines
print-covers = covers { $share }
print-letter-is-tone = A letter is one tone to paint.
print-lightness-is = L* is lightness: 0 is black, 100 is white.
print-values-lead = Match the tone first, the colour later: squint at the picture and at the figure.
print-values-mixes = So light and so dark your mixes come out, each in its place; the cards name the same bands.
print-gets-some = of the painted surface gets some of it
print-where-from = Where it comes from
print-bands-title = Which tones do I need?
print-bands-lead = Hold paint beside the value scale: a mix belongs to the band in whose range it lies. The value told of a band is the mean of what lies in it. Where the printer's greys run together, letters count.
print-value-scale = Value 0–10
print-printed-grey = Printed grey
print-your-paint = Your paint
print-zones-title = Which light is strongest where?
print-card-instead = Instead
print-card-cards = Cards
print-zones-lead = Paint each zone toward the colour of its light, told beside it; the colours of the picture only tell zones apart. Left and right are yours, as you face the figure.
print-column-band = Band
print-column-zone = Zone
print-column-name = Name
print-column-light = Strongest light
print-column-lightness = L*
print-column-value = Value
print-column-area = Area
print-column-share = Share
print-card-part = Part
print-card-thin = Thin
print-card-brush = Brush
print-card-drying = Drying
print-card-done-when = Done when
print-card-mistake = Mistake
print-card-repair = Repair
print-card-sheet = Sheet
print-card-next = Again in
print-card-over = Over
print-stages-title = What do I do, in which order?
print-stages-lead = Tick the box when the card's “done when” holds. Thinning, brushes and drying times are common practice: what the product's label says counts.
print-stages-greys = Printed in black alone, the greys of a card only tell its steps apart; how light each is stands beside it.
print-stages-near = How near a mix comes to the plan: no remark, it matches; “comes near”, the difference is seen side by side, not at arm's length; “test it first”, dab it and judge; “no nearer with these paints”, only another paint would help. Step 1 is the darkest of a region.
print-stages-tones = Where the base coat of one region is shaded later, the steps of its region stand beside the titles of both cards, from dark to light, each with its value; the base coat is underlined. A lamp's tones come on top.
print-afterwards = It becomes:
print-stages-dab = Printed colours are not paint: dab your own mix into the dashed box beside each and compare.
print-handout-title = What would you choose?
print-handout-lead = The stages without their answers: write down mixes, thinning and brush, then compare.
print-warnings-title = What should I check before painting?
print-warnings-lead = What was noticed on the model. Look at each place before the first coat.

## ---- Cover and summary

fact-size = Size
fact-painted = Painted surface
fact-shells = Shells in the file
fact-triangles = Triangles
fact-lights = Lights
fact-gluing = Gluing
fact-gluing-none = one print: nothing to glue
fact-views = Largest views
fact-base = Base
fact-base-high = { $height } mm high; stays calmer than the figure
fact-route = Route
fact-mood = Mood
fact-stages = Stages
mood-strength = { $name }, { $strength } %
mood-calm = calm
mood-cold = cold
mood-gloomy = gloomy
mood-menacing = menacing
mood-sickly = sickly
mood-evening = evening
mood-lively = lively
mood-faded = faded
mood-dreamlike = dreamlike
route-sketch = sketch: three-tone primer as a reference, then opaque paint
route-transparent = transparent: thin paint over the primer's tones
route-transparent-on = transparent: thin paint over the primer's tones on { $regions }, opaque paint elsewhere
route-brush-only = brush only: dry brush instead of spray, then opaque paint
warning-at-point = first at { $x }, { $y }, { $z } mm
warning-at-line = first at line { $line } of the file
warning-at-byte = at byte { $byte } of the file
warning-times = { $text } Found { $n } times.

# What was noticed on a model is told in English where it was noticed. A translation may give its own sentence for any
# of it, by its code in the JSON of `inspect`: finding-truncated = ...
finding-buried-samples = Some parts lie inside others. They are not painted and count in no area.
finding-no-base = No base was found: the whole model is planned as the figure.

## ---- Names of views, bands, scales

view-from-the-front = From the front
view-from-behind = From behind
view-from-your-left = From your left
view-from-your-right = From your right
view-from-above = From above
view-three-quarter-view = Three-quarter view
view-true-size = True size
view-close-by = Close by
band-deep-shadow = deep shadow
band-shadow = shadow
band-low-midtone = low midtone
band-midtone = midtone
band-high-midtone = high midtone
band-light = light
band-highlight = highlight
exposure-no-light = no light
exposure-a-little = a little
exposure-half = half
exposure-strong = strong
exposure-full-light = full light

## ---- Values and lights

values-title-front = How light is it from the front?
values-title-back = How light is it from behind?
values-title-three-quarter = How light is it in three-quarter view?
values-title-front-and-back = How light is it from the front and from behind?
values-title-three-quarter-and-above = How light is it in three-quarter view and from above?
values-title-left-and-right = How light is it from your left and from your right?
values-title-other-sides = How light is it from the other sides?
caption-mixes-in-grey = your mixes, blended, in grey
caption-tones = the tones before they are cut into bands
caption-true-size = hold it beside the figure and squint
light-title-of = Where does the { $name } light fall?
light-lead = Light { $number } of { $count }: { $source }.
light-legend = How much of this light arrives
light-strongest = It is the strongest light on { $share } % of the painted surface.
light-falloff = The lamp's light is { $falloff }. Edges and touches apart, nothing it lights is lighter than the lamp itself, value { $value }.
bottle-metallic = metallic; { $stages }
beside-lead = Beside them: { $list }.
beside-dry-brush = dark primer to brush on, mid grey and near-white for the dry brush
beside-primer = dark, mid and light primer
beside-medium = clean water or a medium for washes
beside-gloss = gloss varnish
beside-matt = matt varnish
beside-putty = tacky putty or tape
beside-glue = glue
region-colour = { $palette }: { $colour }
palette-for = { $name }: { $regions }
zones-feather = Where two zones meet on one form, feather the one into the other over { $low } to { $high } mm; where an edge or a cast shadow parts them, keep it sharp.
zones-gap = Between two lights lies a dark gap, as the sheets of values show it.
zones-metal = Cross-hatched, none of it: { $regions }; metal shows the light by itself.
zone-none = none
zone-none-meaning = no light reaches it: leave it in the deepest shadow
source-colour = { $source }; { $colour } light
source-straight-above = from straight above
source-tilted = from { $tilt }° off straight above, { $side }
source-ring = from all round, 45° above
source-ambient = dim, from everywhere above
source-overcast = dim, from everywhere above, most from overhead
source-lamp = a lamp { $up } mm above the lowest point, shining { $side }
place-of-lamp = The lamp is { $up } mm above its foot; seen from the front, from the middle of the figure { $round }.
place-of-lamp-middle = The lamp is { $up } mm above its foot, over the middle of the figure.
place-left = { $mm } mm to the left
place-right = { $mm } mm to the right
place-before = { $mm } mm before it
place-behind = { $mm } mm behind it

## ---- Regions, lines, gluing

part-regions = Regions
part-recesses = Recesses
part-edges = Edges
part-gluing = Gluing
part-faces = Faces
part-freehand = Freehand
part-outlines = Outlines
part-photo = Photo
part-true-size = True size
column-region = Region
column-colour = Colour
column-lightness = L*
column-value = Value
column-light = Strongest light
column-area = Area
column-share = Share
column-where = Where
column-length = Length
column-depth = Depth
column-height = Height
column-mix = Mix
column-file = File
column-before-gluing = Paint before gluing
column-bare = Keep bare for glue
column-never = No brush reaches at all
regions-title = What is what?
regions-lead = Each region with its number and name; the colours only tell them apart.
regions-lead-coloured = Each region with its number, name and base colour; shares are of all that is painted. Left and right are yours, as you face the figure.
regions-lead-glazed = Each region with its number, name and base colour; where it is glazed the mean of what the glaze leaves. Shares are of all that is painted. Left and right are yours, as you face the figure.
region-left = { $name }, on the left
region-right = { $name }, on the right
region-hidden = { $name } (hidden from all sides)
region-no-colour = { $name } (no colour yet)
recesses-title = Which recesses do I line?
recesses-lead = Numbered lines first, in this order: they are long and deep. Draw them thin and dark.
edges-sheet-title = Which edges do I catch?
edges-sheet-lead = Numbered lines first, in this order: long, high and in the light. Draw them thin and light.
lines-thin = The thin lines are the next { $thin }: draw them if you have time, each in the darkest tone of what it lies on.
lines-thin-and-more = The thin lines are the next { $thin }: draw them if you have time, each in the darkest tone of what it lies on. A wash does for the other { $n }.
edges-thin = The thin lines are the next { $thin }: leave them, or go along them with a nearly dry brush.
edges-thin-and-more = The thin lines are the next { $thin }: leave them, or go along them with a nearly dry brush. The other { $n } stay as they are.
lines-unseen = { $n ->
    [one] Line { $numbers } is seen from none of these sides: look for it where the table says.
   *[other] Lines { $numbers } are seen from none of these sides: look for them where the table says.
 }
line-of-metal = none: metal shines by itself
gluing-title = What do I do before gluing?
gluing-lead = Hatched is what no brush reaches once the files are together: paint it first. Begin with { $file }: most of it closes up.
gluing-lead-nothing = Hatched is what no brush reaches once the files are together: paint it first. Nothing closes up: glue first and paint the whole.
gluing-nothing = nothing
gluing-apart = none: it stands apart
gluing-try = Put the files together without glue: every joint closes.
gluing-mask = Mask the joints, or scrape paint off them before gluing: glue holds on bare print.
gluing-note = The step cards say when each file is painted and when it is glued.

## ---- Primer

primer-title = Where do I spray from?
primer-lead-two = A choice: the mid and light coats of the stage cards are simpler, these come closest to the planned values. First { $dark } all over, as on the cards; then these two passes instead of the others. A pass covers so much where it falls straight. Each picture is taken after its pass.
primer-lead-three = A choice: the mid and light coats of the stage cards are simpler, these come closest to the planned values. First { $dark } all over, as on the cards; then these three passes instead of the others. A pass covers so much where it falls straight. Each picture is taken after its pass.
primer-planned = Planned
primer-planned-text = The light's values, to compare.
primer-sprayed = Sprayed instead
primer-sprayed-text = What the spray passes give, to compare.
primer-best-two = the best two passes { $rms } L*
primer-usual = the coats of the stage cards { $rms } L*
primer-others = To compare, what other ways leave: { $others }.
primer-others-closer = To compare, what other ways leave: { $others }. Here the stage cards come closer: follow them.
primer-continued = Continued.
primer-over = { $light } over { $dark }
primer-tones = Which tones?
primer-tones-text = One set for all coats: L* { $dark }, { $mid } and { $light }, whatever the colour. Warm suits skin and leather, cold steel and water; a coloured shadow shines through thin paint.
primer-once-title = If I spray only once, from where?
primer-once-lead = { $direction }: seen from the front this reveals the most form. It spreads the figure over about { $tones } tones; straight down gives { $straight }.
dry-brush-only-title = Where does the dry brush catch?
dry-brush-only-lead = A choice: the dry brush of the stage cards is simpler, these rounds come closest to the planned values. First { $dark } all over, as on the cards; when it is dry, these rounds instead of the others, with a soft, nearly dry brush.
dry-brush-sheet-title = No spray: where does a dry brush catch?
dry-brush-sheet-lead = Paint { $dark } all over with a brush. When it is dry, draw a soft, nearly dry brush over the figure in these rounds, which come closest to the planned values.
dry-brush-note = A dry brush catches on edges that meet the stroke and skips what lies behind them; recesses narrower than a tuft stay dark. A flat plate takes little: { $light } % of it nearly dry, { $heavy } % as an overbrush.
sketch-above = from above, front below
sketch-side = from the side
sketch-to-and-fro = from above, to and fro
sketch-stroke = the stroke
strokes = Strokes { $how }.
strokes-round = Strokes { $how }, round every side.
left-over = Afterwards { $within } % of the figure is within one step of the value scale; tones are off by about { $rms } L*.
left-over-none = No part of it is off as a whole.
left-over-light = It is farthest off { $place }: { $by } L* too light on average. Begin there with the brush.
left-over-dark = It is farthest off { $place }: { $by } L* too dark on average. Begin there with the brush.
strength-a-mist-covers-half = a mist: covers half
strength-a-light-coat-covers-four-fifths = a light coat: covers four fifths
strength-a-full-coat-covers-all-but-a-trace = a full coat: covers all but a trace
load-nearly-dry-wipe-until-a-flat-place-takes-a-tenth = nearly dry: wipe until a flat place takes a tenth
load-dry-brush-wipe-until-a-flat-place-takes-a-third = dry brush: wipe until a flat place takes a third
load-overbrush-wipe-little-a-flat-place-takes-two-thirds = overbrush: wipe little, a flat place takes two thirds
stroke-downward = downward
stroke-upward = upward
stroke-from-left-to-right = from left to right
stroke-from-right-to-left = from right to left
stroke-to-and-fro-over-the-tops-only = to and fro over the tops only
primer-set-grey = grey
primer-set-warm = warm
primer-set-cold = cold
primer-set-coloured-shadow = coloured shadow
primer-tone-dark-grey = dark grey
primer-tone-mid-grey = mid grey
primer-tone-near-white = near-white
primer-tone-dark-brown = dark brown
primer-tone-tan = tan
primer-tone-bone = bone
primer-tone-navy = navy
primer-tone-blue-grey = blue-grey
primer-tone-pale-ice = pale ice
primer-tone-plum = plum
primer-tone-dusty-rose = dusty rose
primer-tone-cream = cream

## ---- Where on the figure

place-on-the-tops-low-down = on the tops low down
place-on-the-tops-at-middle-height = on the tops at middle height
place-on-the-tops-high-up = on the tops high up
place-on-the-undersides-low-down = on the undersides low down
place-on-the-undersides-at-middle-height = on the undersides at middle height
place-on-the-undersides-high-up = on the undersides high up
place-on-what-faces-front-low-down = on what faces front low down
place-on-what-faces-front-at-middle-height = on what faces front at middle height
place-on-what-faces-front-high-up = on what faces front high up
place-on-what-faces-your-right-low-down = on what faces your right low down
place-on-what-faces-your-right-at-middle-height = on what faces your right at middle height
place-on-what-faces-your-right-high-up = on what faces your right high up
place-on-what-faces-back-low-down = on what faces back low down
place-on-what-faces-back-at-middle-height = on what faces back at middle height
place-on-what-faces-back-high-up = on what faces back high up
place-on-what-faces-your-left-low-down = on what faces your left low down
place-on-what-faces-your-left-at-middle-height = on what faces your left at middle height
place-on-what-faces-your-left-high-up = on what faces your left high up

## ---- Cards

caption-after-coat = after this coat
caption-after-round = after this round
caption-about-this-light = about this light afterwards
caption-lamp = where its light falls, bright is more
caption-pale = pale, without a number: the base coat stays
caption-pale-glazed = pale, without a number: the glaze stays
caption-white-lamp = { $pale }; white: a lamp's card paints it later
caption-pale-lamp = pale, without a number: this lamp's light does not count there
caption-finished = the finished figure
caption-planned-values = the planned values
caption-compare = what to compare with
caption-squinting = squinting, as light and dark as this
card-part-title = { $stage }: { $region }
card-of-part = { $letter } { $region }
card-laid-in = { $mix }, stage { $number }
card-as-first = as card { $card } says
card-tone = value { $value } of 10, L* { $tone }
mix-step-value = step { $step }: value { $value }
mix-value = value { $value }
mix-values = values { $values }
mix-value-band = value { $value } (band { $band })
mix-values-band = values { $values } (band { $band })
mix-to-match = mix it to match
mix-comes-near = comes near
mix-test-first = test it first
mix-out-of-reach = no nearer with these paints
caption-lines-unseen = { $n ->
    [one] line { $numbers } is not seen from here
   *[other] lines { $numbers } are not seen from here
 }
caption-touches-unseen = { $n ->
    [one] { $n } more touch is not seen from here
   *[other] { $n } more touches are not seen from here
 }
mix-unseen = { $tone }; too little of { $letters } is seen here to mark
handout-mix = { $line } parts { $line }
handout-tone = value { $line }, warm or cool?
tone-neutral = neutral
tone-warm = warm
tone-cool = cool
tone-between = between warm and cool
colour-dark-of = dark { $colour }
colour-pale-of = pale { $colour }
colour-greyish-of = greyish { $colour }
colour-black = black
colour-dark-grey = dark grey
colour-mid-grey = mid grey
colour-pale-grey = pale grey
colour-white = white
colour-pink = pink
colour-red-brown = red brown
colour-red = red
colour-cream = cream
colour-sand = sand
colour-brown = brown
colour-orange = orange
colour-olive-brown = olive brown
colour-ochre = ochre
colour-yellow = yellow
colour-olive = olive
colour-yellow-green = yellow green
colour-green = green
colour-blue-green = blue green
colour-blue = blue
colour-violet = violet
colour-purple = purple

## ---- Faces, freehand, outlines, photographs

faces-title = How do I paint the face?
faces-lead = { $height } mm from hairline to chin; the eyes look { $gaze }.
faces-note = Turn the figure as on these pictures: the lights on brow, nose and cheeks are planned from there.
face-steps = Steps
face-steps-caption = as it is laid down
face-blended = Blended
face-blended-caption = as it will look
face-values = Values
face-values-caption = squint: is it as light and as dark as this?
face-outline = Outline
face-outline-caption = to try on
freehand-title = How does my design fit: { $name }?
freehand-blank = To draw on
freehand-blank-caption = one square is 1 mm of the figure
freehand-lit = As it is lit
freehand-lit-caption = the design goes lighter and darker with its ground
freehand-place = Where it lies
freehand-place-caption = the thick line is the rim of the template
freehand-own = True size
freehand-own-caption = cut it out, hold it to the figure
freehand-draw = Draw the design with a pencil on the enlarged outline until it reads from two metres.
freehand-mark = Mark its middle, ends and one or two crossings on the figure with thinned paint, square by square.
freehand-paint = Paint from the middle outward, large shapes first, in a mid tone; then shade it as the ground is lit.
freehand-after = Paint it after stage { $number }, { $stage }: what comes earlier would cover it.
freehand-when = Paint it after the shadows and lights of what it lies on, before varnish.
freehand-note = The paper is the surface laid flat. It ends at sharp edges and where the region ends; where it would meet itself it is cut.
stretch-none = Laid flat without stretching: what fits on paper fits on the figure.
stretch-longer = Lengths on paper are up to { $longer } % too long.
stretch-shorter = Lengths on paper are up to { $shorter } % too short.
stretch-both = Lengths on paper are up to { $longer } % too long and { $shorter } % too short, { $mean } % on average.
stretch-folded = { $n ->
    [one] { $worst } It lies over itself at { $n } spot: choose a smaller radius.
   *[other] { $worst } It lies over itself at { $n } spots: choose a smaller radius.
 }
outlines-title = Which colours shall I try?
outlines-lead = Pencil, marker or thin paint: try the scheme on paper before the figure.
photo-title = How do I take pictures that can be compared?
photo-lead = The same place, light and settings each time; then two pictures differ by your paint alone.
photo-camera = Camera { $away } mm away, level with the middle of the figure, { $up } mm above the table. Zoom until the figure fills two thirds of the picture; do not go nearer instead.
photo-mark = Mark where camera, figure and lamp stand, with tape on the table.
photo-lamp = One white lamp from above and a little to the front, a sheet of white paper opposite it; no window, no ceiling light.
photo-grey-card = Grey card (18 % reflectance, L* 50) beside the figure, in its light. Set white balance and exposure on it, then lock both.
photo-three-left = Three pictures: front; { $turn }° to the left and { $up }° from above; back. A turntable with marks helps.
photo-three-right = Three pictures: front; { $turn }° to the right and { $up }° from above; back. A turntable with marks helps.
photo-look = Look at them in grey beside the sheets of values: squint, and compare the darkest and the lightest places.
photo-note = Distances, lamp and card are common practice; at ten times the figure's depth its near and far side appear within a tenth of one size, as straight on as the sheets show them.
true-size-title = How does it look at true size?
true-size-lead = Lay the crosses of neighbouring parts over each other. Squint at arm's length.
true-size-part = Row { $row } of { $rows }, column { $column } of { $columns }

## ---- What a picture shows, for who cannot see it

alt-plain = The figure, view: { $side }
alt-colour-values = The figure, view: { $side }, in the values that its planned colours come to. Band { $light } ({ $light_name }) covers { $light_share } percent, band { $dark } ({ $dark_name }) { $dark_share } percent of the surface.
alt-values = The figure, view: { $side }, in planned values. Band { $light } ({ $light_name }) covers { $light_share } percent, band { $dark } ({ $dark_name }) { $dark_share } percent of the surface.
alt-exposure = The figure, view: { $side }, showing how much of the light '{ $name }' arrives, { $source }. It reaches { $share } percent of the surface.
alt-zone-share = { $name } { $share } percent
alt-zones = The figure, view: { $side }, showing which light is the strongest: { $shares }.
alt-colours = The figure, view: { $side }, in the planned colours, blended.
alt-colours-in-grey = The figure, view: { $side }, as light and dark as its planned colours come to.
alt-steps = The figure, view: { $side }, in the planned colours, step by step.
alt-reach = The figure, view: { $side }, with the areas marked that a pointed brush cannot reach.
alt-openness = The figure, view: { $side }, showing how open each spot lies: dark in recesses, pale on edges and open surface.
alt-sprayed = { $n ->
    [one] The figure, view: { $side }, after { $n } pass of spray.
   *[other] The figure, view: { $side }, after { $n } passes of spray.
 }
alt-sprayed-all = The figure, view: { $side }, after all passes of spray.
alt-sprayed-once = The figure, view: { $side }, after one pass of spray in the light tone.
alt-dry-brushed = { $n ->
    [one] The figure, view: { $side }, after { $n } round of dry brush.
   *[other] The figure, view: { $side }, after { $n } rounds of dry brush.
 }
alt-dry-brushed-all = The figure, view: { $side }, after all rounds of dry brush.
alt-primed-dark = The figure, view: { $side }, after the dark coat: one even dark.
alt-primed-mid = The figure, view: { $side }, after the mid coat: grey wherever light comes from all round, dark below.
alt-primed-light = The figure, view: { $side }, primed dark, mid and light: bright on top, grey on the sides, dark below and in recesses.
alt-marked = The figure pale, view: { $side }, with the place of this stage marked: { $title }. Its letters and numbers are those of the mixes on the card.
alt-face = The face, close by: { $name }, { $caption }.
alt-face-close-by = The face close by, pale, with the parts of its eyes marked; they look { $gaze }. Its letters are those of the mixes on the card.
alt-outlines = The figure, view: { $side }: outlines alone.
alt-recesses = The figure, view: { $side }, pale, with the recesses to line drawn on it: { $lines }.
alt-edges = The figure, view: { $side }, pale, with the edges to catch drawn on it: { $lines }.
alt-regions = The figure, view: { $side }, each region in its own colour, named: { $names }.
alt-gluing = The figure, view: { $side }, put together. Hatched is what no brush reaches once it is glued.
alt-freehand-place = The figure, seen straight at the place of the design { $name }, which is outlined.
alt-freehand-lit = The area of the design { $name } laid flat, in its planned light: { $width } mm wide and { $height } mm high on the figure.
alt-freehand-blank = The area of the design { $name } laid flat, blank, with a grid: { $width } mm wide and { $height } mm high on the figure.
alt-freehand-own = The area of the design { $name } laid flat, blank, to cut out: { $width } mm wide and { $height } mm high on the figure.
alt-true-size = The figure, view: { $side }, a part of it at true size, in planned values, with register marks.
alt-sketch = A small picture of the figure, { $caption }. An arrow shows the direction.
