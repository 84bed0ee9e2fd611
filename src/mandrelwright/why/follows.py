"""Which results, keys and numbers a finding follows from, by its id; else its whole step."""

from __future__ import annotations

SMOOTHED = ("job.surface[*]", "job.mould.plastic", "materials.plastics.{plastic}.smooths_with")
LOCKED = ("stack.free_angle", "stack.share", "stack.layers")
BARE = ("stack.share", "shape.tip", "shape.base")
GONE = ("stack.vanishes", "stack.mould")

FOLLOWS: dict[str, tuple[str, ...]] = {
    "fit.follows-badly": ("fit.results",),
    "fit.measure-next": ("fit.blame", "fit.forecast.unread", "fit.forecast.ring"),
    "fit.on-a-slope": ("fit.results", "job.fit[*]"),
    "fit.unlikely": ("fit.results",),
    "fit.wall-does-not-close": ("fit.results", "stack.layers", "stack.fibre_fraction"),
    "job.defaults-used": (),
    "job.library-values": (),
    "job.not-judged": ("job.schedule[*]", "job.flight", "job.antenna[*]"),
    "job.own-library": ("job.materials.file",),
    "job.tow-width-from-library": ("materials.tows.{tow}.*",),
    "layup.cold": ("job.shop.temperature",),
    "layup.cup-too-small": ("layup.most_cup", "materials.practice.lay-up.mix_fixed"),
    "layup.epoxy": (),
    "layup.kept-to-the-can": ("layup.most_cup",),
    "layup.layer-split": ("layup.steps", "layup.lasts", "layup.most_cup"),
    "layup.more-than-needed": ("layup.cups", "layup.least_cup"),
    "layup.no-hardener": ("job.resin.hardener",),
    "layup.no-pot-life": ("job.resin.pot_life",),
    "layup.pot-life-too-short": ("layup.lasts", "layup.mixing"),
    "layup.runs": ("layup.sag_speed", "layup.turn_every", "layup.film_gels", "layup.cups"),
    "layup.scale-too-coarse": ("layup.cups", "layup.least_cup"),
    "layup.sets-early": ("layup.takes", "layup.film_gels"),
    "layup.sleeve-short": ("layup.supplies", "layup.laid_from_shelf"),
    "mould.cannot-grow": ("mould.ends",),
    "mould.flange-blocks": ("job.mould.flange", "job.mould.leaves"),
    "mould.ridges": ("mould.ends",),
    "mould.sloping-mark": ("mould.marks",),
    "mould.undercut": ("mould.undercut",),
    "print.flange-too-small": ("print.flange", "print.radius"),
    "print.hole-breaks-out": ("print.pull_rod", "print.vent", "print.radius"),
    "print.taller-than-printer": ("print.total_height", "job.printer.height"),
    "print.wider-than-bed": ("print.width", "job.printer.bed"),
    "stack.bare": BARE,
    "stack.bare-tip": BARE,
    "stack.bunches": LOCKED,
    "stack.cannot-open": LOCKED,
    "stack.drawing-moves": ("stack.scale",),
    "stack.shallow": LOCKED,
    "stack.shorter-than-ramps": ("stack.layers",),
    "stack.steep": LOCKED,
    "stack.thin-core": GONE,
    "stack.vanishes": GONE,
    "surface.does-not-smooth": SMOOTHED,
    "surface.loss-not-measured": ("surface.treatments",),
    "surface.solvent-vapour": ("job.surface[*]",),
}
