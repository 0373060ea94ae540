package pids

// failureTypes are the failure types of three-byte codes (SAE J2012-DA as tabulated in
// public lists that agree; the standard itself was not at hand). They hold where an ECU uses
// that standard's codes; makers' own symptom bytes look the same.
var failureTypes = [256]string{
	0x11: "short to ground", 0x12: "short to supply", 0x13: "open circuit", 0x14: "short to ground or open",
	0x15: "short to supply or open", 0x16: "voltage too low", 0x17: "voltage too high", 0x18: "current too low",
	0x19: "current too high", 0x1A: "resistance too low", 0x1B: "resistance too high", 0x1C: "voltage out of range",
	0x1D: "current out of range", 0x1E: "resistance out of range", 0x1F: "intermittent",
	0x21: "amplitude too low", 0x22: "amplitude too high", 0x23: "stuck low", 0x24: "stuck high", 0x25: "wrong wave shape",
	0x26: "changes too slowly", 0x27: "changes too fast", 0x28: "offset", 0x29: "signal invalid", 0x2A: "stuck in range",
	0x2B: "cross-coupled", 0x2F: "erratic",
	0x31: "no signal", 0x36: "frequency too low", 0x37: "frequency too high", 0x38: "wrong frequency",
	0x39: "too few pulses", 0x3A: "too many pulses",
	0x41: "checksum", 0x42: "memory", 0x47: "watchdog", 0x48: "supervision", 0x49: "internal electronics",
	0x4A: "wrong component fitted", 0x4B: "module too hot",
	0x51: "not programmed", 0x52: "not activated", 0x53: "deactivated", 0x54: "calibration missing", 0x55: "not configured", 0x56: "wrong configuration",
	0x61: "calculation", 0x62: "comparison", 0x63: "protection time-out", 0x64: "not plausible",
	0x65: "too few changes", 0x66: "too many changes", 0x67: "after an event", 0x68: "event information",
	0x71: "actuator stuck", 0x72: "stuck open", 0x73: "stuck closed", 0x74: "slipping", 0x7A: "leak", 0x7B: "level low",
	0x81: "invalid data received", 0x82: "message counter wrong", 0x83: "message checksum wrong",
	0x84: "below range", 0x85: "above range", 0x86: "signal marked invalid", 0x87: "message missing", 0x88: "bus off", 0x8F: "erratic message",
	0x91: "parametric", 0x92: "performance", 0x93: "no operation", 0x94: "unwanted operation", 0x95: "assembly",
	0x96: "component internal", 0x97: "blocked", 0x98: "too hot",
}
