// Package cause keeps the ledger of causes: for each thing that can make a car shake in a cruise,
// what of this drive speaks for it, what against it, and what was not tested. It is pure: [Facts] go
// in, a [Ledger] comes out, and words are made by its Words methods alone. It weighs nothing in per
// cent: a line is a fact of the drive, and the reader weighs.
//
// What speaks for what is the practice of makers' manuals and of the trade, named at each rule: a
// touch of the brake opens the converter clutch and stops its shudder, not a misfire; a coast in
// neutral leaves what the wheels make and takes away what the engine makes.
package cause
