/** One of the three conditions for measuring, and the reason for its state. */
export interface SettlingLight {
  readonly isOn: boolean;
  /** One clause, such as `0.9 of 1.7 barrel volumes`. */
  readonly says: string;
  /** Best guess of the time until it turns on; absent when on or when nothing is known. */
  readonly remainingSeconds?: number;
}

/** The three lights side by side; a strand may be measured when all are on. */
export interface SettlingLights {
  readonly zones: SettlingLight;
  readonly flush: SettlingLight;
  readonly strand: SettlingLight;
  readonly isSettled: boolean;
  readonly atSeconds: number;
}

export interface SettlingWatchOptions {
  readonly screwRpm: number;
  /** What was set, feed end first; compared with logged zone temperatures. */
  readonly setPointsCelsius?: readonly number[];
  /** Default 1 °C. */
  readonly withinCelsius?: number;
  /** When a lag model says that the zones are ready; used while no temperatures are logged. */
  readonly zonesReadyAtSeconds?: number;
  readonly holdUpCm3: number;
  /** Barrel volumes wanted after the zones are ready; 1.0 for a study cell, 1.7 for a release. */
  readonly barrelVolumes?: number;
  /** Density of the solid strand over density of the melt; default 1. */
  readonly solidOverMeltDensity?: number;
  /** Output from the screw, for logs without puller speed. */
  readonly outputCm3PerSecond?: number;
  /** When the settings were changed; s on the clock of the readings. Default: the first reading. */
  readonly changedAtSeconds?: number;
}
