/** Style sheets are bundled; importing one has no value. */
declare module '*.css' {}
