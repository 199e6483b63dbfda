/** The air: pure flight physics in SI. Imports nothing of ours; knows no file, clock or environment. */
export * from './air.ts';
export * from './earth.ts';
export * from './glide.ts';
export * from './leg.ts';
export * from './passes.ts';
export * from './places.ts';
export * from './polar.ts';
export * from './reach.ts';
export * from './soar.ts';
export * from './space.ts';
export * from './speeds.ts';
export * from './sun.ts';
export * from './terrain.ts';
export * from './times.ts';
export * from './variation.ts';
export * from './volumes.ts';
export * from './wind.ts';
