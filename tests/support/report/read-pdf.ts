import { getDocumentProxy } from 'unpdf';

/** A piece of text as another program finds it in a PDF: points from the lower left corner. */
export interface PdfItem {
  readonly text: string;
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

export interface PdfPage {
  readonly width: number;
  readonly height: number;
  readonly items: readonly PdfItem[];
  /** All of it, from top to bottom and left to right, with single spaces. */
  readonly text: string;
}

export interface ReadPdf {
  readonly pages: readonly PdfPage[];
  readonly info: Readonly<Record<string, unknown>>;
}

/** Reads a PDF with a reader that shares nothing with what writes it. */
export async function readPdf(bytes: Uint8Array): Promise<ReadPdf> {
  const document = await getDocumentProxy(Uint8Array.from(bytes));
  const { info } = await document.getMetadata();
  const pages: PdfPage[] = [];
  for (let number = 1; number <= document.numPages; number += 1) {
    const page = await document.getPage(number);
    const { width, height } = page.getViewport({ scale: 1 });
    const { items: found } = await page.getTextContent();
    const items = found.flatMap((item): PdfItem[] => {
      if (!('str' in item) || item.str.trim() === '') return [];
      const [, , , , x = 0, y = 0] = item.transform as number[];
      return [{ text: item.str, x, y, width: item.width, height: item.height }];
    });
    const order = [...items].sort((one, other) => (Math.abs(one.y - other.y) > 2 ? other.y - one.y : one.x - other.x));
    pages.push({
      width,
      height,
      items,
      text: order
        .map(({ text }) => text)
        .join(' ')
        .replace(/\s+/g, ' '),
    });
  }
  return { pages, info: info as Readonly<Record<string, unknown>> };
}
