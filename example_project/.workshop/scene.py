# The points of a shape, and the stops of a surface, are read as one row: they are not wrapped.
# fmt: off
"""How is a thing modelled, lit and looked at? Meshes with bevelled edges, tubes, letters, lamps, a camera, and the tracing of a picture.

Lengths are metres; x is forward or to the right, y is away from the viewer or to the left of the truck, z is up.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import bpy
from mathutils import Euler, Vector

Point = Sequence[float]
_parents: list[Any] = []
FONT = Path("/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf")


def fresh() -> None:
    """Start with nothing at all."""
    bpy.ops.wm.read_factory_settings(use_empty=True)
    _parents.clear()


@contextlib.contextmanager
def under(at: Point = (0, 0, 0), turn: Point = (0, 0, 0), scale: float = 1) -> Iterator[Any]:
    """Whatever is made inside hangs on one handle, which stands at `at` and is turned by `turn` degrees."""
    handle = bpy.data.objects.new("handle", None)
    _place(handle, at, turn)
    handle.scale = (scale, scale, scale)
    _parents.append(handle)
    try:
        yield handle
    finally:
        _parents.pop()


def _place(thing: Any, at: Point, turn: Point) -> Any:
    bpy.context.scene.collection.objects.link(thing)
    thing.location = at
    thing.rotation_euler = [math.radians(a) for a in turn]
    if _parents:
        thing.parent = _parents[-1]
    return thing


def mesh(points: Any, faces: Any, material: Any, at: Point = (0, 0, 0), turn: Point = (0, 0, 0), *, bevel: float = 0, angle: float = 35, segments: int = 2) -> Any:
    """A mesh of corner points and faces; `bevel` rounds its edges by so many metres."""
    data = bpy.data.meshes.new("mesh")
    data.from_pydata([tuple(p) for p in points], [], [tuple(f) for f in faces])
    data.polygons.foreach_set("use_smooth", [True] * len(data.polygons))
    data.set_sharp_from_angle(angle=math.radians(angle))
    data.materials.append(material)
    thing = _place(bpy.data.objects.new("thing", data), at, turn)
    if bevel:
        change = thing.modifiers.new("bevel", "BEVEL")
        change.width, change.segments, change.limit_method = bevel, segments, "ANGLE"
        change.angle_limit = math.radians(angle)
        change.harden_normals = True
    return thing


def box(size: Point, at: Point, material: Any, turn: Point = (0, 0, 0), *, bevel: float = 0.004, taper: float = 1) -> Any:
    """A block; `taper` makes its top smaller than its foot."""
    x, y, z = (s / 2 for s in size)
    low = [(-x, -y, -z), (x, -y, -z), (x, y, -z), (-x, y, -z)]
    high = [(px * taper, py * taper, z) for px, py, _ in low]
    faces = [(3, 2, 1, 0), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7)]
    return mesh(low + high, faces, material, at, turn, bevel=min(bevel, 0.45 * min(size)))


def prism(outline: Sequence[Point], depth: tuple[float, float], material: Any, at: Point = (0, 0, 0), turn: Point = (0, 0, 0), *, axis: str = "y", bevel: float = 0.006) -> Any:
    """An outline pulled along an axis: for axis y the outline is (x, z), for x it is (y, z), for z it is (x, y)."""
    n = len(outline)
    put = {"y": lambda a, b, d: (a, d, b), "x": lambda a, b, d: (d, a, b), "z": lambda a, b, d: (a, b, d)}[axis]
    points = [put(a, b, d) for d in depth for a, b in outline]
    faces = [tuple(range(n)), tuple(range(2 * n - 1, n - 1, -1))]
    faces += [((i + 1) % n, i, n + i, n + (i + 1) % n) for i in range(n)]
    thing = mesh(points, faces, material, at, turn, bevel=bevel)
    return _outward(thing)


def _outward(thing: Any) -> Any:
    import bmesh

    work = bmesh.new()
    work.from_mesh(thing.data)
    bmesh.ops.recalc_face_normals(work, faces=work.faces)
    work.to_mesh(thing.data)
    work.free()
    return thing


def lathe(profile: Sequence[Point], material: Any, at: Point = (0, 0, 0), turn: Point = (0, 0, 0), *, steps: int = 56, bevel: float = 0, angle: float = 32, ends: int = 360) -> Any:
    """A profile of (radius, height) turned about z, from its foot to its top, or about a part of the circle only."""
    whole = ends == 360
    count = steps if whole else steps + 1
    points, faces = [], []
    for i in range(count):
        a = math.radians(ends) * i / steps
        points += [(r * math.cos(a), r * math.sin(a), z) for r, z in profile]
    n = len(profile)
    for i in range(steps):
        j = (i + 1) % count
        faces += [(i * n + k, j * n + k, j * n + k + 1, i * n + k + 1) for k in range(n - 1)]
    if not whole:
        faces += [tuple(range(n)), tuple(range((count - 1) * n + n - 1, (count - 1) * n - 1, -1))]
    thing = mesh(points, faces, material, at, turn, angle=angle)
    import bmesh

    work = bmesh.new()
    work.from_mesh(thing.data)
    bmesh.ops.remove_doubles(work, verts=work.verts, dist=1e-6)
    bmesh.ops.recalc_face_normals(work, faces=work.faces)
    work.to_mesh(thing.data)
    work.free()
    thing.data.set_sharp_from_angle(angle=math.radians(angle))
    if bevel:
        change = thing.modifiers.new("bevel", "BEVEL")
        change.width, change.segments, change.limit_method, change.angle_limit = bevel, 2, "ANGLE", math.radians(angle)
        change.harden_normals = True
    return thing


def cylinder(radius: float, length: float, at: Point, material: Any, turn: Point = (0, 0, 0), *, bevel: float = 0.002, steps: int = 40) -> Any:
    """A round bar about z, its middle at `at`."""
    h = length / 2
    return lathe([(0, -h), (radius, -h), (radius, h), (0, h)], material, at, turn, bevel=min(bevel, radius * 0.4, h * 0.6), steps=steps)


def tube(points: Sequence[Point], radius: float, material: Any, *, closed: bool = False, straight: bool = False) -> Any:
    """A pipe, hose or wire through some points."""
    data = bpy.data.curves.new("tube", "CURVE")
    data.dimensions, data.bevel_depth, data.bevel_resolution, data.resolution_u = "3D", radius, 4, 10
    data.use_fill_caps = True
    spline = data.splines.new("POLY" if straight else "BEZIER")
    knots = spline.points if straight else spline.bezier_points
    knots.add(len(points) - 1)
    for knot, point in zip(knots, points, strict=True):
        if straight:
            knot.co = (*point, 1)
        else:
            knot.co, knot.handle_left_type, knot.handle_right_type = point, "AUTO", "AUTO"
    spline.use_cyclic_u = closed
    data.materials.append(material)
    return _place(bpy.data.objects.new("tube", data), (0, 0, 0), (0, 0, 0))


def letters(words: str, size: float, at: Point, material: Any, turn: Point = (0, 0, 0), *, depth: float = 0.0002, align: str = "CENTER", bold: bool = False, font: Path | None = None) -> Any:
    """Words that lie in the plane of x and y unless turned; `size` is about the height of a capital and a half."""
    data = bpy.data.curves.new("letters", "FONT")
    data.body, data.size, data.align_x, data.align_y, data.extrude = words, size, align, "CENTER", depth
    data.font = bpy.data.fonts.load(str(font or (FONT.with_name("DejaVuSans-Bold.ttf") if bold else FONT)))
    data.materials.append(material)
    return _place(bpy.data.objects.new("letters", data), at, turn)


def copy(thing: Any, at: Point, turn: Point = (0, 0, 0), scale: float | Point = 1) -> Any:
    """The same mesh once more."""
    other = bpy.data.objects.new("copy", thing.data)
    for change in thing.modifiers:
        new = other.modifiers.new(change.name, change.type)
        for key in ("width", "segments", "limit_method", "angle_limit", "harden_normals"):
            if hasattr(change, key):
                setattr(new, key, getattr(change, key))
    _place(other, at, turn)
    other.scale = (scale,) * 3 if isinstance(scale, int | float) else scale
    return other


def area(at: Point, to: Point, power: float, size: float | tuple[float, float], colour: Point = (1, 1, 1)) -> Any:
    """A soft lamp, as a window or a tube light is; `power` is watts."""
    data = bpy.data.lights.new("area", "AREA")
    data.energy, data.color = power, colour
    data.shape = "RECTANGLE"
    data.size, data.size_y = (size, size) if isinstance(size, int | float) else size
    lamp = _place(bpy.data.objects.new("area", data), at, (0, 0, 0))
    lamp.rotation_euler = (Vector(to) - Vector(at)).to_track_quat("-Z", "Y").to_euler()
    return lamp


def sun(height: float, heading: float, strength: float, colour: Point = (1, 0.93, 0.82), spread: float = 0.6) -> Any:
    """The sun, so many degrees high, seen from the heading (0 is +x, counted to the left)."""
    data = bpy.data.lights.new("sun", "SUN")
    data.energy, data.color, data.angle = strength, colour, math.radians(spread)
    return _place(bpy.data.objects.new("sun", data), (0, 0, 20), (0, 90 - height, heading))


def spot(at: Point, to: Point, power: float, degrees: float, colour: Point = (1, 0.85, 0.6), blend: float = 0.6) -> Any:
    """A lamp that throws a cone."""
    data = bpy.data.lights.new("spot", "SPOT")
    data.energy, data.color, data.spot_size, data.spot_blend, data.shadow_soft_size = power, colour, math.radians(degrees), blend, 0.06
    lamp = _place(bpy.data.objects.new("spot", data), at, (0, 0, 0))
    lamp.rotation_euler = (Vector(to) - Vector(at)).to_track_quat("-Z", "Y").to_euler()
    return lamp


def sky(height: float, heading: float, strength: float = 0.12, *, disc: bool = False, dust: float = 1.0) -> None:
    """A clear sky with the sun so many degrees high, computed, not a picture of one."""
    world = bpy.data.worlds.new("sky")
    bpy.context.scene.world = world
    nodes, links = world.node_tree.nodes, world.node_tree.links
    node = nodes.new("ShaderNodeTexSky")
    node.sky_type = "MULTIPLE_SCATTERING"
    node.sun_disc = disc
    node.sun_elevation, node.sun_rotation = math.radians(height), math.radians(90 - heading)
    node.aerosol_density = dust
    back = next(n for n in nodes if n.type == "BACKGROUND")
    back.inputs["Strength"].default_value = strength
    links.new(node.outputs[0], back.inputs["Color"])


def plain_sky(low: Point, high: Point, strength: float = 1, *, cloud: float = 0) -> None:
    """An overcast or dusky sky, from one colour at the horizon to another overhead, with banks of cloud."""
    world = bpy.data.worlds.new("sky")
    bpy.context.scene.world = world
    nodes, links = world.node_tree.nodes, world.node_tree.links
    place, split, ramp = nodes.new("ShaderNodeTexCoord"), nodes.new("ShaderNodeSeparateXYZ"), nodes.new("ShaderNodeValToRGB")
    links.new(place.outputs["Generated"], split.inputs[0])
    stretch, noise, add = nodes.new("ShaderNodeVectorMath"), nodes.new("ShaderNodeTexNoise"), nodes.new("ShaderNodeMath")
    stretch.operation, stretch.inputs[1].default_value = "MULTIPLY", (1, 1, 4)
    noise.inputs["Scale"].default_value, noise.inputs["Detail"].default_value = 2.2, 8
    links.new(place.outputs["Generated"], stretch.inputs[0])
    links.new(stretch.outputs[0], noise.inputs["Vector"])
    add.operation, add.inputs[1].default_value = "MULTIPLY_ADD", cloud
    links.new(noise.outputs[0], add.inputs[0])
    links.new(split.outputs["Z"], add.inputs[2])
    links.new(add.outputs[0], ramp.inputs[0])
    ramp.color_ramp.elements[0].color, ramp.color_ramp.elements[1].color = (*low, 1), (*high, 1)
    ramp.color_ramp.elements[0].position, ramp.color_ramp.elements[1].position = 0.02 + cloud * 0.45, 0.55 + cloud * 0.45
    back = next(n for n in nodes if n.type == "BACKGROUND")
    back.inputs["Strength"].default_value = strength
    links.new(ramp.outputs[0], back.inputs["Color"])


def camera(at: Point, to: Point, *, lens: float = 50, stop: float = 8, focus: Point | None = None, roll: float = 0) -> None:
    """Look from a point at another, through a lens of so many millimetres (on 36 mm of film), at an f-stop."""
    data = bpy.data.cameras.new("camera")
    data.lens, data.clip_start, data.clip_end = lens, 0.01, 4000
    data.dof.use_dof = True
    data.dof.aperture_fstop = stop
    data.dof.focus_distance = (Vector(focus or to) - Vector(at)).length
    eye = bpy.data.objects.new("camera", data)
    bpy.context.scene.collection.objects.link(eye)
    eye.location = at
    turn: Euler = (Vector(to) - Vector(at)).to_track_quat("-Z", "Y").to_euler()
    eye.rotation_euler = turn
    eye.rotation_euler.rotate_axis("Z", math.radians(roll))
    bpy.context.scene.camera = eye


def trace(target: Path, size: tuple[int, int], samples: int, *, exposure: float = 0, look: str = "AgX - Medium High Contrast") -> None:
    """Path-trace the scene into a PNG."""
    scene = bpy.context.scene
    scene.render.engine = "CYCLES"
    cycles = scene.cycles
    cycles.device, cycles.samples, cycles.seed = "CPU", samples, 7
    cycles.use_adaptive_sampling, cycles.adaptive_threshold = True, 0.06
    cycles.use_denoising, cycles.denoiser = True, "OPENIMAGEDENOISE"
    cycles.max_bounces, cycles.diffuse_bounces, cycles.glossy_bounces, cycles.transmission_bounces = 5, 1, 2, 5
    cycles.transparent_max_bounces = 12
    cycles.caustics_reflective = cycles.caustics_refractive = False
    cycles.sample_clamp_indirect = 4
    scene.render.resolution_x, scene.render.resolution_y, scene.render.resolution_percentage = *size, 100
    scene.view_settings.view_transform, scene.view_settings.look = "AgX", look
    scene.view_settings.exposure = exposure
    scene.render.image_settings.file_format = "PNG"
    scene.render.filepath = str(target)
    bpy.ops.render.render(write_still=True)
