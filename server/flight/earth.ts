/** The Earth: geodesics on the WGS84 ellipsoid, by Karney's algorithms (geographiclib-geodesic). */
import geodesy from 'geographiclib-geodesic';

const { Geodesic } = geodesy;
const earth = Geodesic.WGS84;

/** A place on the WGS84 ellipsoid: latitude -90 to 90, north positive; longitude in degrees, east positive. */
export interface Position {
  readonly latDeg: number;
  readonly lonDeg: number;
}

/** The shortest line between two places. Courses are true, in degrees from 0 (north) up to 360. */
export interface Track {
  readonly from: Position;
  readonly to: Position;
  readonly distanceM: number;
  readonly initialCourseDeg: number;
  readonly finalCourseDeg: number;
  /** The true course (degrees, 0 up to 360) after `xM` metres along the track; beyond its ends the line goes on. */
  courseAt(xM: number): number;
  /** The place `xM` metres along the track; beyond its ends the line goes on. Longitude within -180 to 180. */
  positionAt(xM: number): Position;
}

/** The same direction, from 0 up to (not including) 360 degrees. Any finite number of degrees. */
export function normalizedDegrees(deg: number): number {
  const turned = deg % 360;
  // Adding 360 to a tiny negative remainder rounds to 360 itself.
  return turned < 0 ? (turned + 360) % 360 : turned + 0;
}

function requirePosition(position: Position): void {
  if (!(Math.abs(position.latDeg) <= 90) || !Number.isFinite(position.lonDeg)) {
    throw new RangeError(`not a position: latitude ${position.latDeg}, longitude ${position.lonDeg}`);
  }
}

/**
 * The geodesic from one place to another, over the poles and the antimeridian as well. A track of no length has
 * course 0. Throws RangeError for a latitude outside -90 to 90 or a number that is not finite.
 * Source: Karney, Algorithms for geodesics (2013), WGS84.
 */
export function track(from: Position, to: Position): Track {
  requirePosition(from);
  requirePosition(to);
  const line = earth.InverseLine(
    from.latDeg,
    from.lonDeg,
    to.latDeg,
    to.lonDeg,
    Geodesic.STANDARD | Geodesic.DISTANCE_IN,
  );
  const distanceM = line.s13;
  if (distanceM === 0) {
    return {
      from,
      to,
      distanceM: 0,
      initialCourseDeg: 0,
      finalCourseDeg: 0,
      courseAt: () => 0,
      positionAt: (xM) => destination(from, 0, xM),
    };
  }
  const courseAt = (xM: number): number => normalizedDegrees(line.Position(xM, Geodesic.AZIMUTH).azi2 ?? 0);
  const positionAt = (xM: number): Position => {
    const at = line.Position(xM, Geodesic.LATITUDE | Geodesic.LONGITUDE);
    return { latDeg: at.lat2 ?? from.latDeg, lonDeg: at.lon2 ?? from.lonDeg };
  };
  return {
    from,
    to,
    distanceM,
    initialCourseDeg: normalizedDegrees(line.azi1),
    finalCourseDeg: courseAt(distanceM),
    courseAt,
    positionAt,
  };
}

/**
 * The place reached from `from` on the geodesic that starts on the true course `courseDeg` after `distanceM` metres
 * (negative: backwards). Longitude within -180 to 180. Throws RangeError for bad positions and numbers that are not
 * finite. Source: Karney (2013), WGS84.
 */
export function destination(from: Position, courseDeg: number, distanceM: number): Position {
  requirePosition(from);
  if (!Number.isFinite(courseDeg) || !Number.isFinite(distanceM)) {
    throw new RangeError(`not a course and distance: ${courseDeg} degrees, ${distanceM} m`);
  }
  const at = earth.Direct(from.latDeg, from.lonDeg, courseDeg, distanceM, Geodesic.LATITUDE | Geodesic.LONGITUDE);
  return { latDeg: at.lat2 ?? from.latDeg, lonDeg: at.lon2 ?? from.lonDeg };
}
