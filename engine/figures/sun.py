"""Wet bulb globe temperature under the sky, from the heat balance of a globe and a wick.

Each sensor settles where the light and the warmth it takes up equal what the air and its own
glow carry off. The steady state is found by halving, which always ends and always at the same
answer.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from cartclock.engine.figures.air import ZERO_C_K, root
from cartclock.engine.figures.bounds import (
    AIR_C,
    AIR_SPEED,
    BEAM_SHARE,
    COS_ZENITH,
    RH,
    SOLAR_WM2,
    check,
)
from cartclock.engine.figures.wbgt import NATURAL_WET_BULB_SHARE

FULL_SUN_WM2 = 1000.0
CLOUD_WM2 = 550.0
OUTDOOR_SHADE_WM2 = 150.0
"""Sun and sky on level ground for a worker who has no meter; the shade's light is all diffuse.

Source: our own judgement."""

PRESSURE_HPA = 1013.25
LEAST_AIR_SPEED = 0.13
"""Below this the sensors make their own draught. Source: as `wbgt_sun_c`."""

GLOBE_SHARE = 0.2
AIR_SHARE = 0.1
"""Weights of the WBGT in the sun, beside the wick's. Source: ISO 7243; read second-hand."""

SUN_AT_PERIHELION_WM2 = 1412.0
"""What the sun sends to a surface facing it, outside the atmosphere, in early January.

Source: from memory."""

_STEFAN_BOLTZMANN = 5.6696e-8
_AIR_HEAT = 1003.5
_AIR_MOLE = 28.97
_WATER_MOLE = 18.015
_AIR_GAS = 8314.34 / _AIR_MOLE
_PRANDTL = _AIR_HEAT / (_AIR_HEAT + 1.25 * _AIR_GAS)
_GROUND_EMISSIVITY = 0.999
_GROUND_ALBEDO = 0.45
_SENSOR_EMISSIVITY = 0.95
_GLOBE_ALBEDO = 0.05
_GLOBE_METRES = 0.0508
_WICK_ALBEDO = 0.4
_WICK_METRES = 0.007
_WICK_LENGTH_METRES = 0.0254
# 89.5 degrees from overhead: a lower sun sends no beam worth counting.
_SUN_DOWN = 0.00873
_MOST_BEAM = 0.9
# The wick is never near the boiling point, where its balance has a pole.
_HOTTEST_WICK_K = 365.0


class _Sky(NamedTuple):
    """Air and light around the sensors: kelvin, hPa, m/s, W/m2."""

    air_k: float
    vapour_hpa: float
    speed: float
    solar: float
    beam: float
    cos_zenith: float

    @property
    def warmth(self) -> float:
        """Fourth-power temperature of sky and ground together, halves of a sphere each."""
        sky = 0.575 * math.pow(self.vapour_hpa, 0.143)
        return 0.5 * (sky + _GROUND_EMISSIVITY) * self.air_k**4


def _vapour_hpa(kelvin: float) -> float:
    return 1.004 * 6.1121 * math.exp(17.502 * (kelvin - ZERO_C_K) / (kelvin - 32.18))


def _viscosity(kelvin: float) -> float:
    collision = (kelvin / 97.0 - 2.9) / 0.4 * -0.034 + 1.048
    return 2.6693e-6 * math.sqrt(_AIR_MOLE * kelvin) / (3.617**2 * collision)


def _conductivity(kelvin: float) -> float:
    return (_AIR_HEAT + 1.25 * _AIR_GAS) * _viscosity(kelvin)


def _density(kelvin: float) -> float:
    return 100.0 * PRESSURE_HPA / (_AIR_GAS * kelvin)


def _diffusivity(kelvin: float) -> float:
    """Water vapour in air, m2/s, by the critical pressures and temperatures of both."""
    pressures = math.pow(36.4 * 218.0, 1.0 / 3.0)
    temperatures = math.pow(132.0 * 647.3, 5.0 / 12.0)
    moles = math.sqrt(1.0 / _AIR_MOLE + 1.0 / _WATER_MOLE)
    reduced = math.pow(kelvin / math.sqrt(132.0 * 647.3), 2.334)
    return 3.640e-8 * reduced * pressures * temperatures * moles / (PRESSURE_HPA / 1013.25)


def _latent_heat(kelvin: float) -> float:
    return 2.4073e6 - 71_100.0 * (313.15 - kelvin) / 30.0


def _reynolds(kelvin: float, speed: float, metres: float) -> float:
    return speed * _density(kelvin) * metres / _viscosity(kelvin)


def _globe_c(sky: _Sky) -> float:
    direct = sky.beam * (0.5 / sky.cos_zenith - 1.0) if sky.beam > 0.0 else 0.0
    light = (1.0 - _GLOBE_ALBEDO) * sky.solar * (direct + 1.0 + _GROUND_ALBEDO)
    taken_up = sky.warmth + light / (2.0 * _STEFAN_BOLTZMANN * _SENSOR_EMISSIVITY)

    def carried_off(globe_k: float) -> float:
        film_k = 0.5 * (globe_k + sky.air_k)
        reynolds = _reynolds(film_k, sky.speed, _GLOBE_METRES)
        nusselt = 2.0 + 0.6 * math.sqrt(reynolds) * math.pow(_PRANDTL, 0.3333)
        transfer = nusselt * _conductivity(film_k) / _GLOBE_METRES
        convection = transfer / (_STEFAN_BOLTZMANN * _SENSOR_EMISSIVITY) * (globe_k - sky.air_k)
        return globe_k**4 + convection - taken_up

    return root(carried_off, sky.air_k - 40.0, sky.air_k + 120.0) - ZERO_C_K


def _wick_c(sky: _Sky) -> float:
    end = 0.25 * _WICK_METRES / _WICK_LENGTH_METRES
    side = math.tan(math.acos(sky.cos_zenith)) / math.pi if sky.beam > 0.0 else 0.0
    seen = (1.0 - sky.beam) * (1.0 + end) + sky.beam * (side + end) + _GROUND_ALBEDO
    light = (1.0 - _WICK_ALBEDO) * sky.solar * seen

    def excess(wick_k: float) -> float:
        film_k = 0.5 * (wick_k + sky.air_k)
        reynolds = _reynolds(film_k, sky.speed, _WICK_METRES)
        nusselt = 0.281 * math.pow(reynolds, 0.6) * math.pow(_PRANDTL, 0.44)
        transfer = nusselt * _conductivity(film_k) / _WICK_METRES
        glow = _STEFAN_BOLTZMANN * _SENSOR_EMISSIVITY * (sky.warmth - wick_k**4)
        schmidt = _viscosity(film_k) / (_density(film_k) * _diffusivity(film_k))
        wet_hpa = _vapour_hpa(wick_k)
        cooling = (
            _latent_heat(film_k)
            * _WATER_MOLE
            / (_AIR_HEAT * _AIR_MOLE)
            * (wet_hpa - sky.vapour_hpa)
            / (PRESSURE_HPA - wet_hpa)
            * math.pow(_PRANDTL / schmidt, 0.56)
        )
        return wick_k - (sky.air_k - cooling + (glow + light) / transfer)

    low_k = sky.air_k - 80.0
    return root(excess, low_k, min(sky.air_k + 80.0, _HOTTEST_WICK_K)) - ZERO_C_K


def sensors_c(
    air_c: float,
    rh: float,
    air_speed: float,
    solar_wm2: float,
    beam_share: float,
    cos_zenith: float,
) -> tuple[float, float]:
    """Natural wet bulb and black globe under the sky, both in C.

    Arguments, errors and source as for `wbgt_sun_c`.
    """
    check(air_c, AIR_C)
    check(rh, RH)
    check(air_speed, AIR_SPEED)
    check(solar_wm2, SOLAR_WM2)
    check(beam_share, BEAM_SHARE)
    check(cos_zenith, COS_ZENITH)
    if solar_wm2 * beam_share > SUN_AT_PERIHELION_WM2 * cos_zenith:
        raise ValueError(
            f"solar_wm2: {solar_wm2:g} W/m2 with a beam share of {beam_share:g} is more than "
            f"the sun sends from that height (cos_zenith {cos_zenith:g})"
        )
    air_k = air_c + ZERO_C_K
    sky = _Sky(
        air_k=air_k,
        vapour_hpa=_vapour_hpa(air_k) * rh / 100.0,
        speed=max(air_speed, LEAST_AIR_SPEED),
        solar=solar_wm2,
        beam=min(beam_share, _MOST_BEAM) if cos_zenith >= _SUN_DOWN else 0.0,
        cos_zenith=cos_zenith,
    )
    return _wick_c(sky), _globe_c(sky)


def wbgt_sun_c(
    air_c: float,
    rh: float,
    air_speed: float,
    solar_wm2: float,
    beam_share: float,
    cos_zenith: float,
) -> float:
    """Wet bulb globe temperature in C under the sky: `0.7 wick + 0.2 globe + 0.1 air`.

    air_c: -40 to 60 C; its latent heat is meant for 10 to 40. rh: 1 to 100 %. air_speed: at
    2 m height, 0 to 20 m/s; under 0.13 it counts as 0.13. solar_wm2: sun and sky on level
    ground, 0 to 1400 W/m2. beam_share: part of it that comes straight from the sun, 0 to 1;
    over 0.9 it counts as 0.9. cos_zenith: cosine of the sun's distance from overhead, 0 to 1;
    with the sun within half a degree of the horizon there is no beam. Standard air pressure.

    Raises ValueError naming the argument that is not a number, out of range, or a beam
    stronger than the sun sends from that height (names `solar_wm2`).

    Source: Liljegren and others 2008, Journal of Occupational and Environmental Hygiene 5,
    645-655; read in an open library's source (thermofeel). Weights of ISO 7243, read
    second-hand.
    """
    wick_c, globe_c = sensors_c(air_c, rh, air_speed, solar_wm2, beam_share, cos_zenith)
    return NATURAL_WET_BULB_SHARE * wick_c + GLOBE_SHARE * globe_c + AIR_SHARE * air_c
