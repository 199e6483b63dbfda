/**
 * A task as it is drawn: plain data in SI, angles in degrees true, ready to be sent as JSON. The sheet and the flight
 * view draw from the same picture, so that both show the same flight.
 */
import type { UnitText } from '../../grammar/units.ts';

export interface PicturePosition {
  readonly latDeg: number;
  readonly lonDeg: number;
}

/** A point of a vertical section: a distance from the leg's start and an altitude above the sea, m. */
export interface PicturePoint {
  readonly xM: number;
  readonly altitudeM: number;
}

/** Lines of the file, from 0, the last one included. */
export interface PictureLines {
  readonly first: number;
  readonly last: number;
}

export interface PictureClimb {
  /** From the leg's start. */
  readonly xM: number;
  readonly fromAltitudeM: number | null;
  readonly toAltitudeM: number;
  /** Made by soaring: no line of the file writes it. */
  readonly soared: boolean;
  readonly lines: PictureLines;
}

/** A volume of airspace as the section along a leg cuts it. */
export interface PictureSlice {
  /** Index into the picture's volumes. */
  readonly volume: number;
  readonly fromM: number;
  readonly toM: number;
  /** Limits along the slice; null where a limit rests on ground that is not known. The surface is the ground, or 0. */
  readonly floor: readonly { readonly xM: number; readonly altitudeM: number | null }[];
  readonly ceiling: readonly { readonly xM: number; readonly altitudeM: number | null }[];
  readonly met: 'enters' | 'near' | null;
}

/** The part of a leg that passes over the ground lower than the reserve asks, and where the most is missing. */
export interface PictureLowGround {
  readonly fromM: number;
  readonly toM: number;
  readonly xM: number;
  readonly altitudeM: number;
  readonly topM: number;
}

/** Something solid beside or below the track of a leg; the ends of the leg itself are none. */
export interface PictureSolid {
  readonly name: string;
  readonly kind: 'field' | 'turnpoint' | 'obstacle';
  /** Where the track passes it. */
  readonly xM: number;
  readonly topM: number;
  /** The planned path passes it lower than the reserve asks. */
  readonly tooLow: boolean;
}

export interface PictureLeg {
  readonly number: number;
  readonly kind: 'turn' | 'finish';
  readonly from: string;
  readonly to: string;
  /** The line that ends the leg; its climbs have lines of their own. */
  readonly lines: PictureLines;
  /** Distance flown before this leg; null where a leg before it is not known. */
  readonly startM: number | null;
  readonly distanceM: number | null;
  readonly courseDeg: number | null;
  readonly variationDeg: number | null;
  /** Points along the geodesic at equal distances, its ends included; empty where an end is not known. */
  readonly track: readonly PicturePosition[];
  /**
   * The planned path; empty for a leg that is not computed. A climb on the way is two points at one distance; one
   * overhead the start lies before the first point. It ends where the glider makes no headway.
   */
  readonly path: readonly PicturePoint[];
  /** The lowest path that still arrives with what is asked, flown as planned from behind the last climb to the end. */
  readonly required: readonly PicturePoint[];
  readonly departAltitudeM: number | null;
  readonly departAssumed: boolean;
  readonly requiredDepartAltitudeM: number | null;
  readonly arriveAltitudeM: number | null;
  readonly arriveHeightM: number | null;
  readonly askedAltitudeM: number | null;
  readonly marginM: number | null;
  readonly timeS: number | null;
  readonly indicatedMps: number | null;
  readonly destinationElevationM: number | null;
  /** Where the glide meets the height of its destination before it is there. */
  readonly reachesGroundAfterM: number | null;
  /** Where the glider makes no headway. */
  readonly noHeadwayAfterM: number | null;
  /** Why there is no budget, in words; null where there is one. */
  readonly notComputed: string | null;
  /** The leg as every budget shows it, in the reader's units: cells under `LEG_HEADS`. */
  readonly cells: readonly string[];
  readonly climbs: readonly PictureClimb[];
  /** The highest ground around each point, or more than it; null where it is not known. Empty without elevation data. */
  readonly ground: readonly { readonly xM: number; readonly highestM: number | null }[];
  readonly lowGround: PictureLowGround | null;
  readonly solids: readonly PictureSolid[];
  readonly slices: readonly PictureSlice[];
  readonly stretchesWithoutField: readonly { readonly fromM: number; readonly toM: number }[];
  readonly finishInReachAfterM: number | null;
}

export interface PictureField {
  readonly name: string;
  readonly position: PicturePosition;
  readonly elevationM: number | null;
  /** What a glide there asks, elevation included. */
  readonly askedAltitudeM: number | null;
  /** Runways as written (`07/25`), and the frequency, for the reader. */
  readonly runways: readonly string[];
  readonly frequency: string | null;
  /** The task starts, turns or ends here. */
  readonly named: boolean;
}

export interface PictureVolume {
  readonly name: string;
  /** The outline as positions, closed or not as written; a circle is given as points on it. */
  readonly outline: readonly PicturePosition[];
  readonly circle: { readonly centre: PicturePosition; readonly radiusM: number } | null;
  /** Limits as written, for the reader (`2,500 ft MSL`, `FL65`, `surface`). */
  readonly floor: string;
  readonly ceiling: string;
  readonly met: 'enters' | 'near' | null;
}

export interface PictureTurnpoint {
  readonly name: string;
  readonly position: PicturePosition;
  readonly radiusM: number | null;
  /** The task starts, turns or ends here. */
  readonly named: boolean;
}

export interface PictureObstacle {
  readonly name: string;
  readonly position: PicturePosition;
  readonly topM: number;
  /** It may stand anywhere within this; null where that is not written. */
  readonly radiusM: number | null;
  /** Some leg passes it lower than the reserve asks. */
  readonly tooLow: boolean;
}

export interface Picture {
  readonly task: string;
  readonly uri: string;
  readonly lines: PictureLines;
  readonly aircraft: string | null;
  readonly units: {
    readonly altitude: UnitText;
    readonly distance: UnitText;
    readonly speed: UnitText;
    readonly climb: UnitText;
    readonly mass: UnitText;
  };
  readonly start: {
    readonly name: string;
    readonly position: PicturePosition;
    readonly elevationM: number | null;
    readonly altitudeM: number | null;
    readonly lines: PictureLines;
  } | null;
  readonly legs: readonly PictureLeg[];
  /** The leg with the least margin. */
  readonly least: { readonly leg: number; readonly marginM: number } | null;
  /**
   * The fields that the task names, those in reach at the worst point of a leg, and of the others the nearest to the
   * track.
   */
  readonly fields: readonly PictureField[];
  readonly turnpoints: readonly PictureTurnpoint[];
  readonly obstacles: readonly PictureObstacle[];
  readonly volumes: readonly PictureVolume[];
  /** What is there and cannot be drawn, or is left out, in words. */
  readonly notDrawn: readonly string[];
  readonly wind: readonly { readonly altitudeM: number; readonly fromDeg: number; readonly speedMps: number }[];
  /** Elevation data is there under every leg that is computed. */
  readonly groundKnown: boolean;
  readonly caution: string;
}

/** Fields in reach from a place of a leg at the planned height, for the plan view. */
export interface PictureReach {
  readonly leg: number;
  readonly xM: number;
  readonly position: PicturePosition;
  readonly altitudeM: number;
  readonly fields: readonly { readonly name: string; readonly spareM: number; readonly distanceM: number }[];
}
