package dtc

// failureType is the third byte of a code with its meaning and where that was read. The
// standard, SAE J2012-DA, was not at hand.
type failureType struct{ text, source string }

// Sources of failure types. A maker's own symptom bytes look the same and mean other things.
const (
	inLists   = "public lists that agree, where the maker follows SAE J2012-DA"
	inService = "published service information, where the maker follows SAE J2012-DA"
	inMemory  = "from memory of SAE J2012-DA"
)

// failureTypes has each failure type at its own number. The high digit is the group:
// 1 electrical, 2 signal, 3 frequency, 4 the module itself, 5 programming, 6 algorithm,
// 7 mechanical, 8 bus, 9 component. 75 to 79 are left out: lists differ by one row.
var failureTypes = [256]failureType{
	0x01: {"some electrical failure", inLists}, 0x02: {"some signal failure", inLists},
	0x03: {"some failure of frequency or pulse width", inLists}, 0x04: {"some failure inside the module", inLists},
	0x05: {"some programming failure", inLists}, 0x06: {"some failure that a calculation found", inLists},
	0x07: {"some mechanical failure", inLists}, 0x08: {"some failure of bus signal or message", inService},
	0x09: {"some failure of the component", inLists},

	0x11: {"short to ground", inLists}, 0x12: {"short to supply", inLists}, 0x13: {"open circuit", inLists},
	0x14: {"short to ground or open", inLists}, 0x15: {"short to supply or open", inLists},
	0x16: {"voltage too low", inLists}, 0x17: {"voltage too high", inLists},
	0x18: {"current too low", inLists}, 0x19: {"current too high", inLists},
	0x1A: {"resistance too low", inLists}, 0x1B: {"resistance too high", inLists},
	0x1C: {"voltage out of range", inLists}, 0x1D: {"current out of range", inLists},
	0x1E: {"resistance out of range", inLists}, 0x1F: {"intermittent", inLists},

	0x21: {"amplitude too low", inLists}, 0x22: {"amplitude too high", inLists},
	0x23: {"stuck low", inLists}, 0x24: {"stuck high", inLists}, 0x25: {"wrong wave shape", inLists},
	0x26: {"changes too slowly", inLists}, 0x27: {"changes too fast", inLists}, 0x28: {"offset", inLists},
	0x29: {"signal invalid", inLists}, 0x2A: {"stuck in range", inLists}, 0x2B: {"cross-coupled", inLists},
	0x2F: {"erratic", inLists},

	0x31: {"no signal", inLists},
	0x32: {"low time too short", inMemory}, 0x33: {"low time too long", inMemory},
	0x34: {"high time too short", inMemory}, 0x35: {"high time too long", inMemory},
	0x36: {"frequency too low", inLists}, 0x37: {"frequency too high", inLists}, 0x38: {"wrong frequency", inLists},
	0x39: {"too few pulses", inLists}, 0x3A: {"too many pulses", inLists},

	0x41: {"checksum", inLists}, 0x42: {"memory", inLists}, 0x43: {"memory", inLists}, 0x44: {"memory", inLists},
	0x45: {"memory", inLists}, 0x46: {"memory", inLists}, 0x47: {"watchdog", inLists}, 0x48: {"supervision", inLists},
	0x49: {"internal electronics", inLists}, 0x4A: {"wrong component fitted", inLists}, 0x4B: {"module too hot", inLists},

	0x51: {"not programmed", inLists}, 0x52: {"not activated", inLists}, 0x53: {"deactivated", inLists},
	0x54: {"calibration missing", inLists}, 0x55: {"not configured", inLists}, 0x56: {"wrong configuration", inLists},

	0x61: {"calculation", inLists}, 0x62: {"comparison", inLists}, 0x63: {"protection time-out", inLists},
	0x64: {"not plausible", inLists}, 0x65: {"too few changes", inLists}, 0x66: {"too many changes", inLists},
	0x67: {"after an event", inLists}, 0x68: {"event information", inLists},

	0x71: {"actuator stuck", inLists}, 0x72: {"stuck open", inLists}, 0x73: {"stuck closed", inLists},
	0x74: {"slipping", inLists}, 0x7A: {"leak", inLists}, 0x7B: {"level low", inLists},

	0x81: {"invalid data received", inService}, 0x82: {"message counter wrong", inService},
	0x83: {"message checksum wrong", inService}, 0x84: {"below range", inLists}, 0x85: {"above range", inLists},
	0x86: {"signal marked invalid", inLists}, 0x87: {"message missing", inService}, 0x88: {"bus off", inLists},
	0x8F: {"erratic message", inLists + "; one has it at 89"},

	0x91: {"parametric", inLists}, 0x92: {"performance", inLists}, 0x93: {"no operation", inLists},
	0x94: {"unwanted operation", inLists}, 0x95: {"assembly", inLists}, 0x96: {"component internal", inLists},
	0x97: {"blocked", inLists}, 0x98: {"too hot", inLists},
}
