/**
 * The air: the ICAO standard atmosphere (Doc 7488, ISO 2533) under a plan's QNH and temperature.
 * Left out: humidity, position error and compressibility (under 0.3 kt below 100 kt and 15,000 ft).
 */

/** Standard sea-level temperature, K. */
export const T0 = 288.15;
/** Standard sea-level pressure, Pa. */
export const P0 = 101_325;
/** Standard lapse rate up to 11 km, K/m. */
export const LAPSE = 0.0065;
/** Standard gravity, m/s2. */
export const G0 = 9.80665;
/** Gas constant of dry air, J/(kg K). */
export const R_AIR = 287.05287;
/** Standard sea-level density, kg/m3. */
export const RHO0 = P0 / (R_AIR * T0);
/** Ratio of the specific heats of air. */
const KAPPA = 1.4;
const FOOT = 0.3048;

/** Where the isothermal layer begins, m. */
export const TROPOPAUSE_M = 11_000;
const T_TROPOPAUSE = T0 - LAPSE * TROPOPAUSE_M;
const EXPONENT = G0 / (R_AIR * LAPSE);
const TROPOPAUSE_RATIO = (T_TROPOPAUSE / T0) ** EXPONENT;
const SCALE_HEIGHT = (R_AIR * T_TROPOPAUSE) / G0;

/** Altitudes outside this range are taken as its ends: no glide is there, and every result stays finite. */
export const LOWEST_ALTITUDE_M = -20_000;
export const HIGHEST_ALTITUDE_M = 50_000;

/** The air of a plan: its altimeter setting (Pa, above 0) and how much warmer than standard it is (K, -150 to 150). */
export interface Air {
  readonly qnhPa: number;
  readonly deltaTK: number;
}

/** The standard atmosphere itself. */
export const STANDARD_AIR: Air = { qnhPa: P0, deltaTK: 0 };

/** Throws RangeError for a QNH that is not above zero or a temperature deviation beyond 150 K either way. */
export function requireAir(air: Air): void {
  if (!(air.qnhPa > 0) || !Number.isFinite(air.qnhPa) || !(Math.abs(air.deltaTK) <= 150)) {
    throw new RangeError(`not an air: QNH ${air.qnhPa} Pa, temperature deviation ${air.deltaTK} K`);
  }
}

function clamped(hM: number): number {
  return Math.min(Math.max(hM, LOWEST_ALTITUDE_M), HIGHEST_ALTITUDE_M);
}

/** Pressure at `hM` over that at zero, for altitudes within range. */
function pressureRatio(hM: number): number {
  return hM <= TROPOPAUSE_M
    ? (1 - (LAPSE * hM) / T0) ** EXPONENT
    : TROPOPAUSE_RATIO * Math.exp((TROPOPAUSE_M - hM) / SCALE_HEIGHT);
}

/** The altitude (m) where the pressure is `ratio` (above 0) times that at zero. */
function altitudeOfRatio(ratio: number): number {
  return ratio >= TROPOPAUSE_RATIO
    ? (T0 / LAPSE) * (1 - ratio ** (1 / EXPONENT))
    : TROPOPAUSE_M - SCALE_HEIGHT * Math.log(ratio / TROPOPAUSE_RATIO);
}

function requirePressure(pPa: number): void {
  if (!(pPa > 0) || !Number.isFinite(pPa)) throw new RangeError(`not a pressure: ${pPa} Pa`);
}

/**
 * Standard temperature (K) at geopotential altitude `hM`; -20 to 50 km, beyond that the value at the end. The
 * isothermal layer is continued above 20 km. Source: ISO 2533.
 */
export function standardTemperature(hM: number): number {
  const h = clamped(hM);
  return h <= TROPOPAUSE_M ? T0 - LAPSE * h : T_TROPOPAUSE;
}

/** Standard pressure (Pa) at geopotential altitude `hM`; range as {@link standardTemperature}. Source: ISO 2533. */
export function standardPressure(hM: number): number {
  return P0 * pressureRatio(clamped(hM));
}

/**
 * Pressure (Pa) at altitude `hM`, as an altimeter set to QNH shows it: QNH (1 - L h/T0)^(g/RL), with the isothermal
 * layer above 11 km. Range as {@link standardTemperature}. Source: ISO 2533 and the altimeter's definition.
 */
export function pressure(air: Air, hM: number): number {
  return air.qnhPa * pressureRatio(clamped(hM));
}

/** Temperature (K) at altitude `hM`: standard plus the plan's deviation. Range as {@link standardTemperature}. */
export function temperature(air: Air, hM: number): number {
  return standardTemperature(hM) + air.deltaTK;
}

/** Density (kg/m3) of dry air at altitude `hM`: p/(R T). Range as {@link standardTemperature}. Source: ISO 2533. */
export function density(air: Air, hM: number): number {
  return pressure(air, hM) / (R_AIR * temperature(air, hM));
}

/** Density over the standard sea-level density, sigma. Range as {@link standardTemperature}. */
export function densityRatio(air: Air, hM: number): number {
  return density(air, hM) / RHO0;
}

/**
 * True airspeed over indicated airspeed, 1/sqrt(sigma); true sink grows by it as well. Position error and
 * compressibility are left out. Range as {@link standardTemperature}: always finite and above zero.
 */
export function tasPerIas(air: Air, hM: number): number {
  const h = clamped(hM);
  if (h <= TROPOPAUSE_M) {
    // sigma = QNH/p0 theta^n / (theta + dT/T0): one power instead of two, as this is the integrator's inner loop.
    const theta = 1 - (LAPSE / T0) * h;
    return Math.sqrt((P0 / air.qnhPa) * (theta + air.deltaTK / T0)) * theta ** (-EXPONENT / 2);
  }
  return 1 / Math.sqrt(densityRatio(air, h));
}

/**
 * Pressure altitude (m) of the pressure `pPa`: the inverse of the standard atmosphere. Throws RangeError unless the
 * pressure is above zero. Source: ISO 2533.
 */
export function pressureAltitude(pPa: number): number {
  requirePressure(pPa);
  return altitudeOfRatio(pPa / P0);
}

/**
 * Altitude above sea level (m, on this air's QNH) of the flight level `fl` (hundreds of feet): where the pressure is
 * the standard one at that level. Throws RangeError for a bad QNH or level. Source: definition of flight levels, ISO
 * 2533.
 */
export function altitudeOfFlightLevel(air: Air, fl: number): number {
  requirePressure(air.qnhPa);
  if (!Number.isFinite(fl)) throw new RangeError(`not a flight level: ${fl}`);
  return altitudeOfRatio(standardPressure(fl * 100 * FOOT) / air.qnhPa);
}

/** How much warmer (K) than standard the temperature `temperatureK` at altitude `hM` is. */
export function temperatureDeviation(temperatureK: number, hM: number): number {
  return temperatureK - standardTemperature(hM);
}

/**
 * Speed of sound (m/s) at `temperatureK` (0 and above): sqrt(kappa R T). Throws RangeError below 0. Source: ISO 2533.
 */
export function speedOfSound(temperatureK: number): number {
  if (!(temperatureK >= 0)) throw new RangeError(`not a temperature: ${temperatureK} K`);
  return Math.sqrt(KAPPA * R_AIR * temperatureK);
}

/**
 * Density altitude (m) of dry air: where the standard atmosphere is as dense, up to 11 km. Humid air is thinner and
 * lies higher. Throws RangeError unless pressure and temperature are above zero. Source: ISO 2533.
 */
export function densityAltitude(pPa: number, temperatureK: number): number {
  requirePressure(pPa);
  requirePressure(temperatureK);
  const sigma = pPa / (R_AIR * temperatureK) / RHO0;
  return (T0 / LAPSE) * (1 - sigma ** (1 / (EXPONENT - 1)));
}
