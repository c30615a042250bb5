/**
 * What is used of pdfmake, which brings no types: those that others wrote for it give the whole host the names of a
 * browser's window.
 */
declare module 'pdfmake' {
  const pdfmake: {
    setUrlAccessPolicy(allows: (url: string) => boolean): void;
    setLocalAccessPolicy(allows: (path: string) => boolean): void;
    setFonts(fonts: Readonly<Record<string, { readonly normal: string; readonly bold: string }>>): void;
    createPdf(definition: object): { getBuffer(): Promise<Uint8Array> };
  };
  export default pdfmake;
}
