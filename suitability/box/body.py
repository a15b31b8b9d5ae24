"""A box as chambers that hold heat, walls that let it through, and air that carries it off.

Each chamber is one temperature: its air with the inner half of the walls around it. Heat passes
walls as through a flat layer between two films, and leaves with air through the open bottom.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from suitability.box.design import BoxDesign
from suitability.grid import Float64

FACES = ("front", "right", "back", "left", "roof")

_AIR_J_M3K = 1.2 * 1006.0  # heat that a cubic metre of air holds


@dataclass(frozen=True)
class Assumptions:
    """What is not known of a box and the air around it; the first of each is for a cool box.

    The film outside is `film_still + film_wind · V` plus radiation, V the wind at the box. Air
    leaves a chamber at `exchange_m_s` through its open bottom, with vents `vented_factor` as fast.

    Parameters
    ----------
    wind_share : tuple of float
        Wind at the box as a share of the station's at 10 m. [0..1]
    exchange_m_s : tuple of float
        Speed at which air is exchanged through the bottom; 0.025 m/s is 150 changes an hour in a
        box 0.6 m high. Chosen, with the wind's share, so that boxes come out as warm as measured
        ones; no study of it was found. [m/s]
    vented_factor : float
        By how much vents speed that up.
    film_still_w_m2k, film_wind_j_m3k : float
        Convection outside, 4 + 4 V (ISO 6946). [W/m²K], [W s/m³K]
    film_radiation_w_m2k : float
        Radiation outside, as a film. [W/m²K]
    film_inside_w_m2k : float
        Convection and radiation inside, 8.3 (ASHRAE, upright, still air). [W/m²K]
    wood_w_mk, wood_kg_m3, wood_j_kgk : float
        Conductivity, density and heat capacity of softwood plywood (ASHRAE). [W/mK], [kg/m³],
        [J/kgK]
    emittance : float
        Of the roof to the sky. [0..1]
    sky_w_m2 : float
        By how much a roof radiates more than it gets under an open sky (ASHRAE: 63). [W/m²]
    bats_w : float
        Heat of the bats within, spread over the chambers. [W]
    """

    wind_share: tuple[float, float, float] = (0.7, 0.5, 0.35)
    exchange_m_s: tuple[float, float, float] = (0.035, 0.025, 0.0167)
    vented_factor: float = 1.25
    film_still_w_m2k: float = 4.0
    film_wind_j_m3k: float = 4.0
    film_radiation_w_m2k: float = 5.0
    film_inside_w_m2k: float = 8.3
    wood_w_mk: float = 0.12
    wood_kg_m3: float = 545.0
    wood_j_kgk: float = 1215.0
    emittance: float = 0.9
    sky_w_m2: float = 63.0
    bats_w: float = 0.0

    def film_w_m2k(self, wind_m_s: Float64, case: int) -> Float64:
        """Return the film outside, in the shape of the station's wind. [W/m²K].

        Parameters
        ----------
        wind_m_s : numpy.ndarray
            At 10 m. [m/s]
        case : int
            0 for a cool box, 1 for a likely one, 2 for a hot one.
        """
        convection = self.film_still_w_m2k + self.film_wind_j_m3k * self.wind_share[case] * wind_m_s
        return np.asarray(convection + self.film_radiation_w_m2k)

    def wall_w_m2k(self, thickness_m: float, outside_w_m2k: Float64) -> Float64:
        """Return what a wall lets through, film to film. [W/m²K]."""
        inside = thickness_m / self.wood_w_mk + 1 / self.film_inside_w_m2k
        return np.asarray(1 / (1 / outside_w_m2k + inside))


@dataclass(frozen=True)
class Body:
    """A box as its chambers; around a post each ring is four of them, one a side.

    Parameters
    ----------
    areas_m2 : numpy.ndarray
        (nodes, 5) of outer wall behind each chamber, by `FACES`. [m²]
    links_w_k : numpy.ndarray
        (nodes, nodes) between chambers, symmetric, 0 on the diagonal. [W/K]
    capacity_j_k : numpy.ndarray
        (nodes,) [J/K]
    mouths_m2 : numpy.ndarray
        (nodes,) open bottom. [m²]
    """

    areas_m2: Float64
    links_w_k: Float64
    capacity_j_k: Float64
    mouths_m2: Float64


def body_of(design: BoxDesign, assumed: Assumptions, *, on_wall: bool = False) -> Body:
    """Return a box as chambers: front to back, or ring by ring, each from the front clockwise.

    Parameters
    ----------
    design : BoxDesign
        The box.
    assumed : Assumptions
        Its wood and its films.
    on_wall : bool
        Its back lies against a wall, through which no heat is taken to pass.
    """
    body = _around_post(design, assumed) if design.is_around_post else _flat(design, assumed)
    if on_wall:
        body.areas_m2[:, FACES.index("back")] = 0.0
    return body


def _flat(design: BoxDesign, assumed: Assumptions) -> Body:
    count, high, wide = design.chambers, design.height_m, design.width_m
    slice_m = design.depth_m / count  # of the outer depth
    areas = np.zeros((count, 5))
    areas[0, 0] = areas[-1, 2] = wide * high
    areas[:, 1] = areas[:, 3] = slice_m * high
    areas[:, 4] = slice_m * wide
    links = np.zeros((count, count))
    between = _partition_w_m2k(design.partition_m, assumed)
    inner_m2 = (wide - 2 * design.wall_m) * (high - design.wall_m)
    for k in range(count - 1):
        links[k, k + 1] = links[k + 1, k] = between * inner_m2
    mouths = np.full(count, (wide - 2 * design.wall_m) * design.chamber_m)
    partitions = np.full(count, design.partition_m * inner_m2)  # half of each on either side
    partitions[[0, -1]] /= 2
    if count == 1:
        partitions[:] = 0.0
    wood_m3 = areas.sum(axis=1) * design.wall_m / 2 + partitions
    return Body(areas, links, _capacity(wood_m3, mouths * high, assumed), mouths)


def _around_post(design: BoxDesign, assumed: Assumptions) -> Body:
    rings, high = design.chambers, design.height_m
    step_m = design.chamber_m + design.partition_m
    nodes = 4 * rings
    areas, links = np.zeros((nodes, 5)), np.zeros((nodes, nodes))
    mouths, wood_m3 = np.zeros(nodes), np.zeros(nodes)
    between = _partition_w_m2k(design.partition_m, assumed)
    carried = _AIR_J_M3K * assumed.exchange_m_s[1] * design.chamber_m * high
    for ring in range(rings):
        out_m = design.wall_m + ring * step_m  # from the outside to the ring
        for side in range(4):
            node = 4 * ring + side
            whole_m = design.width_m if side % 2 == 0 else design.depth_m
            long_m = whole_m - 2 * out_m - design.chamber_m  # along the middle of the ring
            mouths[node] = long_m * design.chamber_m
            areas[node, 4] = long_m * step_m + (design.wall_m * whole_m if ring == 0 else 0.0)
            if ring == 0:
                areas[node, side] = whole_m * high
            beside = 4 * ring + (side + 1) % 4
            # Air moves round the corner as it moves through the bottom.
            links[node, beside] = links[beside, node] = carried
            sleeve_m2 = long_m * high
            wood_m3[node] += areas[node].sum() * design.wall_m / 2
            # The inmost sleeve stands against the post, of which a sleeve's thickness joins in.
            wood_m3[node] += design.partition_m * sleeve_m2 * (0.5 if ring + 1 < rings else 2.0)
            if ring > 0:
                wood_m3[node] += design.partition_m * sleeve_m2 / 2
                links[node, node - 4] = links[node - 4, node] = between * sleeve_m2
    return Body(areas, links, _capacity(wood_m3, mouths * high, assumed), mouths)


def _partition_w_m2k(thickness_m: float, assumed: Assumptions) -> float:
    return 1 / (thickness_m / assumed.wood_w_mk + 2 / assumed.film_inside_w_m2k)


def _capacity(wood_m3: Float64, air_m3: Float64, assumed: Assumptions) -> Float64:
    return np.asarray(wood_m3 * assumed.wood_kg_m3 * assumed.wood_j_kgk + air_m3 * _AIR_J_M3K)


@dataclass(frozen=True)
class Steps:
    """How a box goes from one step to the next, exactly, in each hour's wind.

    Parameters
    ----------
    keep : numpy.ndarray
        (hours, nodes, nodes) what a step leaves of the temperatures.
    take : numpy.ndarray
        (hours, nodes, nodes) what a step makes of heat given to the chambers. [K/W]
    absorbed_share : numpy.ndarray
        (hours,) of what an outer face absorbs, comes in: U/h. [0..1]
    to_air_w_k : numpy.ndarray
        (hours, nodes) from chambers to the air outside, through walls and bottom. [W/K]
    """

    keep: Float64
    take: Float64
    absorbed_share: Float64
    to_air_w_k: Float64


def steps_of(
    body: Body,
    design: BoxDesign,
    assumed: Assumptions,
    wind_m_s: Float64,
    case: int,
    step_s: float,
) -> Steps:
    """Return the exact steps of a box in each hour's wind.

    Parameters
    ----------
    body : Body
        Its chambers.
    design : BoxDesign
        The box.
    assumed : Assumptions
        What is not known.
    wind_m_s : numpy.ndarray
        (hours,) at 10 m. [m/s]
    case : int
        0 for a cool box, 1 for a likely one, 2 for a hot one.
    step_s : float
        Length of a step. [s]

    Notes
    -----
    C dT/dt = -K T + q with q steady over a step has T(dt) = E T(0) + (1 - E) K⁻¹ q, E = exp(-C⁻¹
    K dt): stable however long the step. C⁻¹ K is similar to a symmetric matrix, whose eigenvalues
    are found for all hours at once.
    """
    outside = assumed.film_w_m2k(wind_m_s, case)
    through = assumed.wall_w_m2k(design.wall_m, outside)
    speed = assumed.exchange_m_s[case] * (assumed.vented_factor if design.vented else 1.0)
    by_air = _AIR_J_M3K * speed * body.mouths_m2
    to_air = through[:, None] * body.areas_m2.sum(axis=1) + by_air
    stiff = np.broadcast_to(np.diag(body.links_w_k.sum(axis=1)) - body.links_w_k, (
        wind_m_s.size, *body.links_w_k.shape)).copy()  # fmt: skip
    nodes = np.arange(body.capacity_j_k.size)
    stiff[:, nodes, nodes] += to_air
    root = np.sqrt(body.capacity_j_k)
    rates, modes = np.linalg.eigh(stiff / np.outer(root, root))
    left = np.exp(-rates * step_s)
    keep = (modes * left[:, None, :]) @ modes.transpose(0, 2, 1)
    take = (modes * ((1 - left) / rates)[:, None, :]) @ modes.transpose(0, 2, 1)
    return Steps(
        keep=np.ascontiguousarray(keep * root / root[:, None]),
        take=np.ascontiguousarray(take / np.outer(root, root)),
        absorbed_share=through / outside,
        to_air_w_k=to_air,
    )
