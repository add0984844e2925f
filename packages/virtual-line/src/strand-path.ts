/** A second of strand: where it stands behind the die, and what it is like. */
export interface StrandPiece {
  readonly diameterMm: number;
  readonly ovalityMm: number;
}

/** Pieces kept: longer than any strand takes from die to gauge. */
const capacity = 8192;

/** The strand between die and gauge: what leaves the die is seen after the path's length has passed. */
export class StrandPath {
  private readonly lengthMm: number;
  private readonly leftAt = new Float64Array(capacity);
  private readonly diameter = new Float64Array(capacity);
  private readonly ovality = new Float64Array(capacity);
  private written = 0;
  private seen = 0;
  private drawnMm = 0;

  constructor(lengthMm: number) {
    this.lengthMm = lengthMm;
  }

  /** Adds what left the die in this second and returns the piece now at the gauge. */
  advance(piece: StrandPiece, speedMmPerSecond: number): StrandPiece {
    this.drawnMm += speedMmPerSecond;
    const slot = this.written % capacity;
    this.leftAt[slot] = this.drawnMm;
    this.diameter[slot] = piece.diameterMm;
    this.ovality[slot] = piece.ovalityMm;
    this.written++;
    this.seen = Math.max(this.seen, this.written - capacity);
    const atGauge = this.drawnMm - this.lengthMm;
    while (this.seen + 1 < this.written && this.leftAt[(this.seen + 1) % capacity]! <= atGauge)
      this.seen++;
    const at = this.seen % capacity;
    return { diameterMm: this.diameter[at]!, ovalityMm: this.ovality[at]! };
  }
}
