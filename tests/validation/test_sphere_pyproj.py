"""Great circles against pyproj's geodesics on a sphere (GeographicLib; C. Karney, J. Geodesy 2013).

The pole of pyproj's globe is the fingers' pole, longitude 0 the grip centre: latitude is up / R,
longitude over / R, and an azimuth is a bearing. Units: inches and degrees.
"""

import numpy as np
import pytest
from numpy.typing import NDArray
from pyproj import Geod

from layoutkit.geometry import sphere

R = 4.275
GLOBE = Geod(a=R, b=R)
Array = NDArray[np.float64]

# 1e-9 in and 1e-7 degrees are far below what can be laid out, and far above rounding
INCH = 1e-9
DEGREE = 1e-7

N = 2000
RNG = np.random.default_rng(20240229)


def random_points(n: int = N) -> tuple[Array, Array, Array]:
    """Longitude and latitude in degrees, and the same points in the bowler's frame."""
    lon = RNG.uniform(-179.0, 179.0, n)
    lat = np.degrees(np.arcsin(RNG.uniform(-0.999, 0.999, n)))
    a, b = np.radians(lon), np.radians(lat)
    xyz = R * np.stack([np.cos(b) * np.sin(a), np.sin(b), np.cos(b) * np.cos(a)], axis=1)
    return lon, lat, xyz


def turned(a: Array, b: Array) -> Array:
    """How far two directions are apart, in degrees."""
    return np.abs((np.asarray(a) - np.asarray(b) + 180.0) % 360.0 - 180.0)


def test_over_and_up_are_longitude_and_latitude() -> None:
    lon, lat, xyz = random_points()
    over, up = np.radians(lon) * R, np.radians(lat) * R
    assert sphere.from_over_up(over, up, R) == pytest.approx(xyz, abs=INCH)
    found_over, found_up = sphere.to_over_up(xyz, R)
    assert found_over == pytest.approx(over, abs=INCH)
    assert found_up == pytest.approx(up, abs=INCH)


def test_arcs_and_bearings_are_the_inverse_geodesic() -> None:
    lon1, lat1, p = random_points()
    lon2, lat2, q = random_points()
    azimuth, back, distance = GLOBE.inv(lon1, lat1, lon2, lat2)
    assert sphere.arc(p, q, R) == pytest.approx(distance, abs=INCH)
    assert turned(sphere.bearing(p, q), azimuth).max() < DEGREE
    assert turned(sphere.bearing(q, p), back).max() < DEGREE


def test_walking_is_the_direct_geodesic() -> None:
    lon, lat, p = random_points()
    azimuth = RNG.uniform(-180.0, 180.0, N)
    # up to just short of the point opposite, where the bearing of arrival has no meaning
    distance = RNG.uniform(0.0, 0.99 * np.pi * R, N)
    to_lon, to_lat, back = GLOBE.fwd(lon, lat, azimuth, distance)
    end, onward = sphere.walk(p, azimuth, distance)
    assert sphere.walked(p, azimuth, distance) == pytest.approx(end, abs=1e-12)
    a, b = np.radians(to_lon), np.radians(to_lat)
    expected = R * np.stack([np.cos(b) * np.sin(a), np.sin(b), np.cos(b) * np.cos(a)], axis=1)
    assert end == pytest.approx(expected, abs=INCH)
    plain = np.abs(to_lat) < 89.99  # near a pole all bearings run together
    assert plain.sum() > N - 5
    assert turned(onward, np.asarray(back) + 180.0)[plain].max() < DEGREE


@pytest.mark.parametrize("distance", [1e-9, 1e-6, 1e-3])
def test_short_arcs_keep_their_digits(distance: float) -> None:
    lon, lat, p = random_points(50)
    azimuth = np.linspace(-179.0, 179.0, 50)
    end, _ = sphere.walk(p, azimuth, distance)
    assert sphere.arc(p, end, R) == pytest.approx(distance, rel=1e-6, abs=1e-14)
    to_lon, to_lat, _ = GLOBE.fwd(lon, lat, azimuth, np.full(50, distance))
    a, b = np.radians(to_lon), np.radians(to_lat)
    expected = R * np.stack([np.cos(b) * np.sin(a), np.sin(b), np.cos(b) * np.cos(a)], axis=1)
    assert end == pytest.approx(expected, abs=1e-13)


def test_nearly_opposite_points_keep_their_digits() -> None:
    # an arc cosine would lose half the digits here; half a great circle is pi R
    _, _, p = random_points(50)
    for missing in (1e-8, 1e-5, 1e-2):
        end, _ = sphere.walk(p, 40.0, np.pi * R - missing)
        assert np.pi * R - sphere.arc(p, end, R) == pytest.approx(missing, abs=1e-14)


def test_a_left_hand_sees_the_globe_in_a_mirror() -> None:
    """Seen from outside, what is clockwise for one hand is counter-clockwise for the other."""
    lon1, lat1, p = random_points()
    lon2, lat2, q = random_points()
    # pyproj keeps the grip frame, with x to the right; the library goes over to the bowler's frame
    azimuth, _, distance = GLOBE.inv(lon1, lat1, lon2, lat2)
    left_p, left_q = sphere.mirror(p, "left"), sphere.mirror(q, "left")
    assert sphere.arc(left_p, left_q, R) == pytest.approx(distance, abs=INCH)
    assert turned(sphere.bearing(left_p, left_q), -np.asarray(azimuth)).max() < DEGREE
    over, up = sphere.to_over_up(left_p, R)
    assert over == pytest.approx(-np.radians(lon1) * R, abs=INCH)
    assert up == pytest.approx(np.radians(lat1) * R, abs=INCH)
    # a right hand's frame is the grip frame
    assert sphere.mirror(p, "right") == pytest.approx(p, abs=0.0)
    assert sphere.mirror(left_p, "left") == pytest.approx(p, abs=0.0)


def test_the_edge_of_a_hole_lies_at_its_arc_radius() -> None:
    """The circle in which a bore through the centre cuts the surface, measured by pyproj."""
    for diameter in (0.25, 31 / 32, 1.25, 2.0):
        z = np.sqrt(R * R - diameter**2 / 4.0)
        lat = np.degrees(np.arcsin(diameter / 2.0 / R))  # the edge toward the fingers
        _, _, distance = GLOBE.inv(0.0, 0.0, 0.0, lat)
        assert float(sphere.hole_arc(diameter, R)) == pytest.approx(distance, abs=INCH)
        edge = np.array([0.0, diameter / 2.0, z])
        assert float(sphere.arc(edge, [0.0, 0.0, R], R)) == pytest.approx(distance, abs=INCH)


def test_the_poles_have_the_bearings_met_along_the_centreline() -> None:
    # derived: coming up the centreline one arrives at the fingers' pole heading on, bearing 0
    quarter = np.pi * R / 2.0
    pole, onward = sphere.walk([0.0, 0.0, R], 0.0, quarter)
    assert pole == pytest.approx([0.0, R, 0.0], abs=INCH)
    assert turned(onward, 0.0) < DEGREE
    beyond, _ = sphere.walk(pole, 90.0, quarter)
    assert beyond == pytest.approx([R, 0.0, 0.0], abs=INCH)
