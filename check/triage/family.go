package triage

import (
	"slices"

	"github.com/judder-obd/judder/pids/dtc"
)

// family is a set of codes, as first and last of each run (SAE J2012).
type family [][2]uint16

// runs reads a family: "P0740", or first and last as "P0740-P0744". A text that is none panics:
// the families are constants.
func runs(texts ...string) (f family) {
	for _, text := range texts {
		first, last := text[:len("P0740")], text[len(text)-len("P0740"):]
		f = append(f, [2]uint16{number(first), number(last)})
	}
	return f
}

func number(text string) uint16 {
	c, err := dtc.ParseCode(text)
	if err != nil {
		panic(err)
	}
	return c.Number
}

func (f family) has(n uint16) bool {
	return slices.ContainsFunc(f, func(run [2]uint16) bool { return n >= run[0] && n <= run[1] })
}

// The families. Order and meaning are those of SAE J2012; what is marked so is from memory.
var (
	supplyFamily  = runs("P0560-P0563", "P0620")
	misfireFamily = runs("P0300-P03FF")

	// engineFamily are misfire, fuel and air.
	engineFamily = runs("P0010-P002F", "P0080-P008F", "P0100-P02FF", "P0300-P031F", "P0350-P035F", "P0363", "P0400-P04FF",
		"P2090-P209F", "P2180-P219F", "P2270-P227F")

	// elsewhereFamily are codes of those runs that do not make an engine run badly: catalysts,
	// leaks and levels of the tank, and fans (from memory).
	elsewhereFamily = runs("P0218", "P0420-P043F", "P0440", "P0442", "P0446", "P0449", "P0450-P046F", "P0480-P048F")

	transmissionFamily = runs("P0218", "P0700-P09FF", "P2700-P27FF")

	// clutchFamily are the converter clutch and what controls it: fluid temperature, speeds,
	// brake switch (order from the trade; brake switch and vehicle speed are common practice, no
	// source).
	clutchFamily = runs("P0740-P0744", "P2756-P2770", "P0710-P0723", "P0218", "P0500-P0503", "P0571", "P0703", "P0724")

	// frontFamily is what is at the front of a car: air flow and shutters.
	frontFamily = runs("P0101-P0104", "P059F", "P05A0-P05AA")

	// busFamily is of a bus and of no single module (from memory).
	busFamily = runs("U0001-U0029", "U0073-U0079")

	lostFamily    = runs("U0100-U02FF") // lost communication
	networkFamily = runs("U0000-U3FFF")
)

// busOffType is the failure type "bus off" (SAE J2012-DA).
const busOffType = 0x88

func engine(c code) bool { return c.in(engineFamily) && !c.in(elsewhereFamily) }

func bus(c code) bool {
	return c.in(busFamily) || c.in(networkFamily) && c.parsed.Three && c.parsed.FailureType == busOffType
}

func lost(c code) bool { return c.in(lostFamily) && !bus(c) }
