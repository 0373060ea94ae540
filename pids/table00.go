package pids

// rows00 is $00–$1F.
var rows00 = []PID{
	{0x00, "PIDs supported $01–$20", 4, 4, nil, published},
	{0x01, "monitor status since codes were cleared", 4, 4, nil, published},
	{0x02, "code that caused the freeze frame", 2, 2, nil, published},
	{0x03, "fuel system status", 2, 2, []Field{
		state("FUELSYS1", "fuel system 1 status", 0, fuelSystemStates),
		state("FUELSYS2", "fuel system 2 status", 1, fuelSystemStates),
	}, published},
	{0x04, "calculated load", 1, 1, []Field{percent(LoadPct, "calculated load", 0)}, published},
	{0x05, "engine coolant temperature", 1, 1, []Field{celsius(ECT, "engine coolant temperature", 0)}, published},
	{0x06, "short-term fuel trim, banks 1 and 3", 1, 2, []Field{
		trim("SHRTFT1", "short-term fuel trim bank 1", 0), trim("SHRTFT3", "short-term fuel trim bank 3", 1),
	}, mixed},
	{0x07, "long-term fuel trim, banks 1 and 3", 1, 2, []Field{
		trim("LONGFT1", "long-term fuel trim bank 1", 0), trim("LONGFT3", "long-term fuel trim bank 3", 1),
	}, mixed},
	{0x08, "short-term fuel trim, banks 2 and 4", 1, 2, []Field{
		trim("SHRTFT2", "short-term fuel trim bank 2", 0), trim("SHRTFT4", "short-term fuel trim bank 4", 1),
	}, mixed},
	{0x09, "long-term fuel trim, banks 2 and 4", 1, 2, []Field{
		trim("LONGFT2", "long-term fuel trim bank 2", 0), trim("LONGFT4", "long-term fuel trim bank 4", 1),
	}, mixed},
	{0x0A, "fuel rail pressure, gauge", 1, 1, []Field{u8("FRP", "fuel rail pressure, gauge", "kPa", 0, 3, 1, 0, 0, 765)}, published},
	{0x0B, "intake manifold absolute pressure", 1, 1, []Field{u8(MAP, "intake manifold absolute pressure", "kPa", 0, 1, 1, 0, 0, 255)}, published},
	{0x0C, "engine speed", 2, 2, []Field{u16(RPM, "engine speed", "rpm", 0, 1, 4, 0, 0, 16383.75)}, published},
	{0x0D, "vehicle speed", 1, 1, []Field{u8(VSS, "vehicle speed", "km/h", 0, 1, 1, 0, 0, 255)}, published},
	{0x0E, "ignition timing advance of cylinder 1", 1, 1, []Field{u8("SPARKADV", "ignition timing advance of cylinder 1", "°", 0, 1, 2, -64, -64, 63.5)}, published},
	{0x0F, "intake air temperature", 1, 1, []Field{celsius("IAT", "intake air temperature", 0)}, published},
	{0x10, "mass air flow", 2, 2, []Field{u16("MAF", "mass air flow", "g/s", 0, 1, 100, 0, 0, 655.35)}, published},
	{0x11, "absolute throttle position A", 1, 1, []Field{percent(TP, "absolute throttle position A", 0)}, published},
	{0x12, "commanded secondary air", 1, 1, []Field{state("AIR_STAT", "commanded secondary air", 0, secondaryAirStates)}, published},
	{0x13, "oxygen sensors present, two banks", 1, 1, []Field{u8("O2SLOC", "oxygen sensors present, two banks, one bit each", "", 0, 1, 1, 0, 0, 255)}, published},
	oxygen(0x14, 1), oxygen(0x15, 2), oxygen(0x16, 3), oxygen(0x17, 4),
	oxygen(0x18, 5), oxygen(0x19, 6), oxygen(0x1A, 7), oxygen(0x1B, 8),
	{0x1C, "OBD requirement the vehicle meets", 1, 1, []Field{state("OBDSUP", "OBD requirement the vehicle meets", 0, requirementStates).upTo(250, 250)}, published},
	{0x1D, "oxygen sensors present, four banks", 1, 1, []Field{u8("O2SLOC4", "oxygen sensors present, four banks, one bit each", "", 0, 1, 1, 0, 0, 255)}, published},
	{0x1E, "auxiliary input", 1, 1, []Field{bits("PTO_STAT", "power take-off", 0, 1, 0, offOnStates)}, published},
	{0x1F, "time since engine start", 2, 2, []Field{u16("RUNTM", "time since engine start", "s", 0, 1, 1, 0, 0, 65535)}, published},
}

// oxygen is one of $14–$1B: voltage A/200, trim of byte B; B = $FF: the sensor is not
// used for the trim.
func oxygen(id byte, number int) PID {
	n := string(rune('0' + number))
	return PID{id, "oxygen sensor " + n + " voltage and trim", 2, 2, []Field{
		u8(Signal("O2S_V"+n), "oxygen sensor "+n+" voltage", "V", 0, 1, 200, 0, 0, 1.275),
		trim(Signal("O2S_FT"+n), "oxygen sensor "+n+" short-term fuel trim", 1).upTo(0xFE, 98.4375),
	}, published}
}
