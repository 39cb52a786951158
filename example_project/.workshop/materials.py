# The points of a shape, and the stops of a surface, are read as one row: they are not wrapped.
# fmt: off
"""What is a surface made of? Paint that flakes and rusts, oily steel, rubber, glass, timber, concrete, paper: all by noise, none by a picture."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy

Colour = tuple[float, float, float]
RUST, MUD, DUST = (0.115, 0.034, 0.012), (0.095, 0.062, 0.036), (0.30, 0.25, 0.19)


class Surface:
    """A material under construction: each call adds a node and gives the socket that it feeds."""

    def __init__(self, name: str, tone: Colour = (0.2, 0.2, 0.2), *, through: bool = False) -> None:
        self.tone, self.through = tone, through
        self.material = bpy.data.materials.new(name)
        self.material.use_nodes = True
        self.nodes, self.links = self.material.node_tree.nodes, self.material.node_tree.links
        self.shader = next(n for n in self.nodes if n.type == "BSDF_PRINCIPLED")
        self.out = next(n for n in self.nodes if n.type == "OUTPUT_MATERIAL")
        self.geometry = self.nodes.new("ShaderNodeNewGeometry")
        self.place = self.geometry.outputs["Position"]

    def feed(self, socket: Any, value: Any) -> None:
        if isinstance(value, bpy.types.NodeSocket):
            self.links.new(value, socket)
        elif isinstance(value, tuple) and len(value) == 3 and socket.type == "RGBA":
            socket.default_value = (*value, 1)
        else:
            socket.default_value = value

    def sum(self, operation: str, a: Any, b: Any = 0.0, c: Any = 0.0) -> Any:
        node = self.nodes.new("ShaderNodeMath")
        node.operation = operation
        for socket, value in zip(node.inputs, (a, b, c), strict=True):
            self.feed(socket, value)
        return node.outputs[0]

    def noise(self, scale: float, detail: float = 6, *, rough: float = 0.6, stretch: Colour | None = None, bend: float = 0) -> Any:
        node = self.nodes.new("ShaderNodeTexNoise")
        node.inputs["Scale"].default_value, node.inputs["Detail"].default_value = scale, 1 + 0.5 * detail
        node.inputs["Roughness"].default_value, node.inputs["Distortion"].default_value = rough, bend
        place = self.place
        if stretch:
            by = self.nodes.new("ShaderNodeVectorMath")
            by.operation = "MULTIPLY"
            self.links.new(place, by.inputs[0])
            by.inputs[1].default_value = stretch
            place = by.outputs[0]
        self.links.new(place, node.inputs["Vector"])
        return node.outputs[0]

    def between(self, value: Any, low: float, high: float, to: tuple[float, float] = (0, 1)) -> Any:
        """0 below `low`, 1 above `high`, smooth between; or from to[0] to to[1]."""
        node = self.nodes.new("ShaderNodeMapRange")
        node.interpolation_type = "SMOOTHSTEP"
        for name, v in zip(("Value", "From Min", "From Max", "To Min", "To Max"), (value, low, high, *to), strict=True):
            self.feed(node.inputs[name], v)
        return node.outputs[0]

    def mix(self, much: Any, a: Any, b: Any) -> Any:
        node = self.nodes.new("ShaderNodeMix")
        node.data_type = "RGBA"
        for socket, value in ((node.inputs[0], much), (node.inputs[6], a), (node.inputs[7], b)):
            self.feed(socket, value)
        return node.outputs[2]

    def axis(self, socket: Any, which: int) -> Any:
        node = self.nodes.new("ShaderNodeSeparateXYZ")
        self.links.new(socket, node.inputs[0])
        return node.outputs[which]

    def crevice(self, reach: float) -> Any:
        """About 1 in hollow corners, 0 on the open and on edges, where the mesh is fine enough; `reach` is how far dirt creeps."""
        return self.between(self.geometry.outputs["Pointiness"], 0.5, 0.44 - min(reach, 0.05))

    def bump(self, height: Any, much: float, reach: float) -> None:
        node = self.nodes.new("ShaderNodeBump")
        node.inputs["Strength"].default_value, node.inputs["Distance"].default_value = much, reach
        self.links.new(height, node.inputs["Height"])
        self.links.new(node.outputs[0], self.shader.inputs["Normal"])

    def done(self, **inputs: Any) -> Any:
        for name, value in inputs.items():
            words = {"colour": "Base Color", "rough": "Roughness", "metal": "Metallic", "coat": "Coat Weight", "glow": "Emission Color", "glow_much": "Emission Strength",
                     "through": "Transmission Weight", "sheer": "Alpha", "index": "IOR", "specular": "Specular IOR Level"}
            self.feed(self.shader.inputs[words[name]], value)
        self._plain_to_scattered_light(inputs.get("colour"))
        return self.material

    def _plain_to_scattered_light(self, colour: Any) -> None:
        """What is seen by way of a matt surface needs no noise: it gets one flat colour, which saves most of the time."""
        if not isinstance(colour, bpy.types.NodeSocket) or self.through:
            return
        path, flat, either = (self.nodes.new(f"ShaderNode{k}") for k in ("LightPath", "BsdfDiffuse", "MixShader"))
        flat.inputs[0].default_value = (*self.tone, 1)
        self.links.new(path.outputs["Is Diffuse Ray"], either.inputs[0])
        self.links.new(self.shader.outputs[0], either.inputs[1])
        self.links.new(flat.outputs[0], either.inputs[2])
        self.links.new(either.outputs[0], self.out.inputs[0])


def paint(colour: Colour, *, rust: float = 0.1, dust: float = 0.1, mud: float = 0.0, rough: float = 0.38, fine: float = 1, name: str = "paint") -> Any:
    """Old gloss: uneven, flaked to rust at edges and in patches, dusty on top, splashed below. `fine` shrinks the patches for close-ups."""
    s = Surface(name, colour)
    up = s.axis(s.geometry.outputs["Normal"], 2)
    height = s.axis(s.place, 2)
    broad, small = s.noise(2.6 * fine, 9, rough=0.65), s.noise(21 * fine, 6)
    edge = s.between(s.geometry.outputs["Pointiness"], 0.51, 0.60)
    mask = s.sum("ADD", s.sum("MULTIPLY", broad, 0.62), s.sum("MULTIPLY", small, 0.38))
    mask = s.sum("MULTIPLY_ADD", edge, 0.10 * rust**0.5, mask)
    if fine == 1:
        mask = s.sum("MULTIPLY_ADD", s.between(height, 1.0, 0.45), 0.05, mask)
    level = 0.74 - 0.25 * rust
    bare = s.between(mask, level, level + 0.012)
    stain = s.between(mask, level - 0.05, level + 0.01)
    worn = s.mix(s.between(s.noise(0.9 * fine, 5), 0.35, 0.7), tuple(c * 0.82 for c in colour), tuple(min(1, c * 1.12 + 0.008) for c in colour))
    worn = s.mix(s.sum("MULTIPLY", s.noise(70 * fine, 3), 0.22), worn, tuple(c * 0.6 for c in colour))
    worn = s.mix(s.sum("MULTIPLY", stain, 0.55), worn, (0.16, 0.075, 0.03))
    scale = s.mix(s.between(s.noise(46 * fine, 6), 0.3, 0.7), RUST, (0.26, 0.10, 0.035))
    base = s.mix(bare, worn, scale)
    gloss = s.between(s.noise(9 * fine, 5), 0.3, 0.75, (rough * 0.75, rough * 1.5))
    gloss = s.sum("MAXIMUM", gloss, s.sum("MULTIPLY", bare, 0.85))
    if dust:
        lying = s.sum("MULTIPLY", s.between(up, -0.25, 0.85), s.between(s.noise(5 * fine, 7), 0.15, 0.75, (0.55, 1.15)))
        lying = s.sum("MULTIPLY_ADD", s.crevice(0.06 / fine), 0.5 * dust, s.sum("MULTIPLY", lying, dust))
        lying = s.sum("MINIMUM", lying, 1.0)
        base = s.mix(lying, base, DUST)
        gloss = s.sum("MAXIMUM", gloss, s.sum("MULTIPLY", lying, 0.9))
    if mud:
        splash = s.sum("ADD", s.between(height, 1.05, 0.25), s.sum("MULTIPLY", s.noise(6, 8, rough=0.75), 1.1))
        thrown = s.between(splash, 1.35 - 0.45 * mud, 1.62 - 0.45 * mud)
        base = s.mix(s.sum("MULTIPLY", thrown, 0.92), base, MUD)
        gloss = s.sum("MAXIMUM", gloss, s.sum("MULTIPLY", thrown, 0.8))
    s.bump(s.sum("MULTIPLY_ADD", s.sum("MULTIPLY", bare, small), 1.0, s.sum("MULTIPLY", s.noise(3.2 * fine, 2), 0.6)), 0.35, 0.004 / fine)
    return s.done(colour=base, rough=gloss, coat=0.0)


def steel(colour: Colour = (0.42, 0.41, 0.39), *, rust: float = 0.15, rough: float = 0.36, oil: float = 0.3, fine: float = 8, name: str = "steel") -> Any:
    """Worked metal with tarnish, rust bloom in the hollows and a film of oil."""
    s = Surface(name, tuple(c * 0.6 for c in colour))
    broad, small = s.noise(3 * fine, 8, rough=0.65), s.noise(30 * fine, 5)
    mask = s.sum("MULTIPLY_ADD", s.crevice(0.12 / fine), 0.16 * min(1, rust * 3), s.sum("MULTIPLY_ADD", small, 0.35, s.sum("MULTIPLY", broad, 0.65)))
    level = 0.75 - 0.3 * rust
    bare = s.between(mask, level, level + 0.07)
    base = s.mix(s.between(s.noise(6 * fine, 6), 0.3, 0.7), tuple(c * 0.62 for c in colour), colour)
    base = s.mix(s.sum("MULTIPLY", s.between(s.noise(1.6 * fine, 6), 0.42, 0.7), oil), base, tuple(c * 0.16 for c in colour))
    base = s.mix(bare, base, s.mix(s.noise(40 * fine, 5), RUST, (0.24, 0.09, 0.03)))
    shine = s.between(s.noise(14 * fine, 7), 0.3, 0.7, (rough * 0.7, rough * 1.35))
    s.bump(s.sum("MULTIPLY_ADD", bare, 0.8, s.sum("MULTIPLY", s.noise(55 * fine, 3), 0.3)), 0.13, 0.010 / fine)
    return s.done(colour=base, rough=s.sum("MAXIMUM", shine, s.sum("MULTIPLY", bare, 0.85)), metal=s.sum("SUBTRACT", 1.0, bare))


def cast(colour: Colour = (0.16, 0.165, 0.17), *, grime: float = 0.4, metal: float = 0.0, fine: float = 8, rough: float = 0.5) -> Any:
    """Sand-cast metal, painted or raw: pebbled, with black grease in its corners."""
    s = Surface("cast", colour)
    dirt = s.sum("MINIMUM", s.sum("MULTIPLY_ADD", s.crevice(0.1 / fine), 1.1 * grime, s.sum("MULTIPLY", s.between(s.noise(2.2 * fine, 8), 0.45, 0.75), grime)), 1.0)
    base = s.mix(s.noise(5 * fine, 7), tuple(c * 0.75 for c in colour), tuple(min(1, c * 1.2) for c in colour))
    base = s.mix(dirt, base, (0.022, 0.018, 0.014))
    s.bump(s.noise(38 * fine, 4), 0.32, 0.006 / fine)
    return s.done(colour=base, rough=s.between(s.noise(9 * fine, 5), 0.3, 0.7, (rough * 0.7, rough * 1.3)), metal=metal)


def rubber(colour: Colour = (0.022, 0.021, 0.020), *, dust: float = 0.25, fine: float = 1, rough: float = 0.62, mud: float = 0) -> Any:
    s = Surface("rubber", colour)
    lying = s.sum("MULTIPLY", s.between(s.noise(6 * fine, 8), 0.35, 0.75), dust)
    base = s.mix(lying, colour, DUST)
    if mud:
        low = s.between(s.sum("MULTIPLY_ADD", s.noise(9, 7), 0.9, s.crevice(0.03)), 1.0 - 0.5 * mud, 1.25 - 0.4 * mud)
        base = s.mix(low, base, MUD)
    s.bump(s.noise(60 * fine, 4), 0.15, 0.003 / fine)
    return s.done(colour=base, rough=s.between(s.noise(11 * fine, 5), 0.3, 0.7, (rough * 0.85, min(1, rough * 1.25))))


def plastic(colour: Colour, *, rough: float = 0.42, fine: float = 8, dirt: float = 0.2, through: float = 0) -> Any:
    s = Surface("plastic", colour, through=bool(through))
    base = s.mix(s.sum("MULTIPLY", s.between(s.noise(4 * fine, 7), 0.4, 0.75), dirt), colour, tuple(c * 0.35 + 0.02 for c in colour))
    s.bump(s.noise(70 * fine, 2), 0.06, 0.004 / fine)
    return s.done(colour=base, rough=s.between(s.noise(12 * fine, 5), 0.3, 0.7, (rough * 0.8, rough * 1.25)), through=through)


def glass(tint: Colour = (0.93, 0.96, 0.94), *, dirt: float = 0.1, fine: float = 1) -> Any:
    """A thin pane: reflects, lets light straight through, and carries its dust."""
    s = Surface("glass", through=True)
    clear, shine, mirror, both = (s.nodes.new(f"ShaderNode{k}") for k in ("BsdfTransparent", "Fresnel", "BsdfGlossy", "MixShader"))
    clear.inputs[0].default_value = (*tint, 1)
    mirror.inputs["Roughness"].default_value = 0.03
    # Cycles turns the index round behind a face; a thin pane is the same from both sides, so it is turned back there
    s.links.new(s.sum("MULTIPLY_ADD", s.geometry.outputs["Backfacing"], 1 / 1.45 - 1.45, 1.45), shine.inputs[0])
    s.links.new(shine.outputs[0], both.inputs[0])
    s.links.new(clear.outputs[0], both.inputs[1])
    s.links.new(mirror.outputs[0], both.inputs[2])
    s.done(colour=DUST, rough=0.9)
    film = s.sum("MULTIPLY", s.between(s.noise(3.5 * fine, 5), 0.3, 0.8, (0.4, 1.4)), dirt)
    dusty = s.nodes.new("ShaderNodeMixShader")
    s.links.new(film, dusty.inputs[0])
    s.links.new(both.outputs[0], dusty.inputs[1])
    s.links.new(s.shader.outputs[0], dusty.inputs[2])
    s.links.new(dusty.outputs[0], s.out.inputs[0])
    return s.material


def liquid(tint: Colour, *, rough: float = 0.0, index: float = 1.4) -> Any:
    s = Surface("liquid")
    return s.done(colour=tint, rough=rough, through=1.0, index=index)


def fuel(tint: Colour) -> Any:
    """A coloured liquid in a small glass: it glows a little, because no light that a lens gathers is traced through it."""
    return Surface("fuel", tint, through=True).done(colour=tint, rough=0.06, through=0.5, glow=tint, glow_much=0.07)


def timber(colour: Colour = (0.24, 0.15, 0.085), *, along: str = "x", plank: float = 0.0, stain: float = 0.4, fine: float = 1, rough: float = 0.62, grey: float = 0.0) -> Any:
    """Boards with grain along an axis, knots, stains and (with `plank`, a width in metres) a shade of its own for each."""
    s = Surface("timber", colour)
    far = {"x": (0.06, 1, 1), "y": (1, 0.06, 1), "z": (1, 1, 0.06)}[along]
    grain = s.noise(46 * fine, 6, stretch=far, bend=0.8)
    rings = s.noise(9 * fine, 3, stretch=far, bend=2.2)
    wave = s.sum("SINE", s.sum("MULTIPLY", rings, 34.0))
    tone = s.sum("MULTIPLY_ADD", s.sum("MULTIPLY_ADD", wave, 0.5, 0.5), 0.4, s.sum("MULTIPLY", grain, 0.6))
    base = s.mix(tone, tuple(c * 0.5 for c in colour), tuple(min(1, c * 1.35) for c in colour))
    if plank:
        across = s.axis(s.place, 1 if along == "x" else 0)
        white = s.nodes.new("ShaderNodeTexWhiteNoise")
        white.noise_dimensions = "1D"
        s.links.new(s.sum("FLOOR", s.sum("DIVIDE", across, plank)), white.inputs["W"])
        base = s.mix(s.sum("MULTIPLY", white.outputs[0], 0.5), base, tuple(c * 0.45 for c in colour))
    if grey:
        base = s.mix(s.sum("MULTIPLY", s.between(s.noise(1.4 * fine, 7), 0.2, 0.6), grey), base, (0.19, 0.175, 0.155))
    blot = s.between(s.noise(3.4 * fine, 9, rough=0.7), 0.52, 0.70)
    base = s.mix(s.sum("MULTIPLY", blot, stain), base, (0.028, 0.020, 0.014))
    s.bump(s.sum("MULTIPLY_ADD", grain, 0.8, s.sum("MULTIPLY", wave, 0.15)), 0.3, 0.004 / fine)
    return s.done(colour=base, rough=s.sum("MULTIPLY_ADD", blot, -0.25 * stain, rough))


def concrete(colour: Colour = (0.30, 0.29, 0.27), *, oil: float = 0.4, wet: float = 0.0, fine: float = 1) -> Any:
    s = Surface("concrete", colour)
    base = s.mix(s.noise(1.1 * fine, 9, rough=0.7), tuple(c * 0.62 for c in colour), tuple(min(1, c * 1.25) for c in colour))
    base = s.mix(s.sum("MULTIPLY", s.noise(120 * fine, 2), 0.35), base, tuple(c * 0.45 for c in colour))
    spill = s.between(s.noise(0.7 * fine, 8, rough=0.62), 0.55, 0.66)
    base = s.mix(s.sum("MULTIPLY", spill, oil), base, (0.03, 0.027, 0.023))
    s.bump(s.sum("MULTIPLY_ADD", s.noise(160 * fine, 3), 0.25, s.noise(5 * fine, 6)), 0.3, 0.01 / fine)
    shine = s.between(s.noise(0.9 * fine, 7), 0.35, 0.62, (0.85, 0.85 - 0.72 * wet))
    return s.done(colour=base, rough=s.sum("MULTIPLY_ADD", spill, -0.25 * oil, shine))


def earth(colours: tuple[Colour, Colour], *, fine: float = 1, rough: float = 0.95, lumps: float = 0.05) -> Any:
    """Ground of two colours, strewn with grit."""
    s = Surface("earth", colours[0])
    base = s.mix(s.between(s.noise(0.8 * fine, 10, rough=0.68), 0.35, 0.65), *colours)
    base = s.mix(s.sum("MULTIPLY", s.between(s.noise(34 * fine, 5), 0.5, 0.7), 0.5), base, tuple(min(1, c * 1.9) for c in colours[1]))
    s.bump(s.sum("MULTIPLY_ADD", s.noise(26 * fine, 7), 0.5, s.noise(3 * fine, 8)), 0.8, lumps)
    return s.done(colour=base, rough=rough)


def leaves(colours: tuple[Colour, Colour], *, sheen: float = 0.5) -> Any:
    """Leaves and blades: each instance of its own tint, and some light let through."""
    s = Surface("leaves", colours[0], through=True)
    info = s.nodes.new("ShaderNodeObjectInfo")
    each = s.sum("FRACT", s.sum("ADD", s.sum("MULTIPLY", info.outputs["Random"], 0.55), s.sum("MULTIPLY", s.noise(23, 2), 0.9)))
    base = s.mix(each, *colours)
    flat, thin, both = s.shader, s.nodes.new("ShaderNodeBsdfTranslucent"), s.nodes.new("ShaderNodeMixShader")
    s.feed(thin.inputs[0], base)
    both.inputs[0].default_value = 0.35
    s.done(colour=base, rough=sheen)
    s.links.new(flat.outputs[0], both.inputs[1])
    s.links.new(thin.outputs[0], both.inputs[2])
    s.links.new(both.outputs[0], s.out.inputs[0])
    return s.material


def cloth(colour: Colour, *, fine: float = 1, stain: float = 0.4) -> Any:
    s = Surface("cloth", colour)
    base = s.mix(s.noise(2.2 * fine, 9, rough=0.66), tuple(c * 0.6 for c in colour), tuple(min(1, c * 1.2) for c in colour))
    base = s.mix(s.sum("MULTIPLY", s.between(s.noise(4 * fine, 8), 0.52, 0.7), stain), base, (0.045, 0.036, 0.027))
    s.bump(s.sum("MULTIPLY_ADD", s.noise(260 * fine, 2), 0.35, s.noise(7 * fine, 4)), 0.35, 0.01 / fine)
    return s.done(colour=base, rough=0.95)


def printed(picture: Path, *, rough: float = 0.85, age: float = 0.25, fine: float = 4, shine: float = 0.3) -> Any:
    """A drawn sheet or a print: the picture lies on the mesh by its UV map; folds, thumbs and age are added."""
    s = Surface("printed", (0.6, 0.57, 0.5))
    image = s.nodes.new("ShaderNodeTexImage")
    image.image = bpy.data.images.load(str(picture))
    image.interpolation = "Cubic"
    base = s.mix(s.sum("MULTIPLY", s.between(s.noise(1.8 * fine, 9), 0.4, 0.75), age), image.outputs[0], (0.36, 0.25, 0.13))
    thumb = s.between(s.noise(4.2 * fine, 7, bend=0.6), 0.64, 0.72)
    base = s.mix(s.sum("MULTIPLY", thumb, age * 1.2), base, (0.06, 0.05, 0.04))
    s.bump(s.noise(45 * fine, 4), 0.07, 0.004 / fine)
    return s.done(colour=base, rough=rough, specular=shine)


def lamp(colour: Colour, strength: float) -> Any:
    s = Surface("lamp")
    return s.done(colour=colour, glow=colour, glow_much=strength)
