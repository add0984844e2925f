/** Turns SVG text into a PNG. */
export type Rasteriser = (svg: string) => Uint8Array;

/** Pixels a figure unit: sharp at the width of a slide. */
const zoom = 2;

/** The rasteriser of an optional package; null where it is not installed. */
export async function rasteriser(): Promise<Rasteriser | null> {
  try {
    const { Resvg } = await import('@resvg/resvg-js');
    return (svg) =>
      new Resvg(withPlainFont(svg), {
        fitTo: { mode: 'zoom', value: zoom },
        font: {
          loadSystemFonts: true,
          defaultFontFamily: 'DejaVu Sans',
          sansSerifFamily: 'DejaVu Sans',
        },
      })
        .render()
        .asPng();
  } catch (error) {
    if (
      ['ERR_MODULE_NOT_FOUND', 'MODULE_NOT_FOUND'].includes((error as { code?: string }).code ?? '')
    )
      return null;
    throw error;
  }
}

/** "system-ui" is a browser's word; outside one the plain name of the kind serves. */
const withPlainFont = (svg: string): string =>
  svg.replace(/font-family="[^"]*"/g, 'font-family="Arial, Helvetica, sans-serif"');
