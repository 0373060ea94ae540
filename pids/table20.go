package pids

// rows20 is $20–$3F.
var rows20 = []PID{
	{0x20, "PIDs supported $21–$40", 4, 4, nil, published},
	{0x21, "distance with the lamp on", 2, 2, []Field{u16("MIL_DIST", "distance with the lamp on", "km", 0, 1, 1, 0, 0, 65535)}, published},
	{0x22, "fuel rail pressure relative to manifold vacuum", 2, 2, []Field{u16("FRP_REL", "fuel rail pressure relative to manifold vacuum", "kPa", 0, 79, 1000, 0, 0, 5177.265)}, published},
	{0x23, "fuel rail gauge pressure", 2, 2, []Field{u16("FRP_HIGH", "fuel rail gauge pressure, wide range", "kPa", 0, 10, 1, 0, 0, 655350)}, published},
	wideVoltage(0x24, 1), wideVoltage(0x25, 2), wideVoltage(0x26, 3), wideVoltage(0x27, 4),
	wideVoltage(0x28, 5), wideVoltage(0x29, 6), wideVoltage(0x2A, 7), wideVoltage(0x2B, 8),
	{0x2C, "commanded EGR", 1, 1, []Field{percent("EGR_PCT", "commanded EGR", 0)}, published},
	{0x2D, "EGR error", 1, 1, []Field{trim("EGR_ERR", "EGR error", 0)}, published},
	{0x2E, "commanded evaporative purge", 1, 1, []Field{percent("EVAP_PCT", "commanded evaporative purge", 0)}, published},
	{0x2F, "fuel level input", 1, 1, []Field{percent("FLI", "fuel level input", 0)}, published},
	{0x30, "warm-ups since codes were cleared", 1, 1, []Field{u8("WARM_UPS", "warm-ups since codes were cleared", "", 0, 1, 1, 0, 0, 255)}, published},
	{0x31, "distance since codes were cleared", 2, 2, []Field{u16("CLR_DIST", "distance since codes were cleared", "km", 0, 1, 1, 0, 0, 65535)}, published},
	{0x32, "evaporative system vapour pressure", 2, 2, []Field{s16("EVAP_VP", "evaporative system vapour pressure", "Pa", 0, 1, 4, -8192, 8191.75)}, published},
	{0x33, "barometric pressure", 1, 1, []Field{u8("BARO", "barometric pressure", "kPa", 0, 1, 1, 0, 0, 255)}, published},
	wideCurrent(0x34, 1), wideCurrent(0x35, 2), wideCurrent(0x36, 3), wideCurrent(0x37, 4),
	wideCurrent(0x38, 5), wideCurrent(0x39, 6), wideCurrent(0x3A, 7), wideCurrent(0x3B, 8),
	{0x3C, "catalyst temperature, bank 1 sensor 1", 2, 2, []Field{celsius10("CATEMP11", "catalyst temperature, bank 1 sensor 1", 0)}, published},
	{0x3D, "catalyst temperature, bank 2 sensor 1", 2, 2, []Field{celsius10("CATEMP21", "catalyst temperature, bank 2 sensor 1", 0)}, published},
	{0x3E, "catalyst temperature, bank 1 sensor 2", 2, 2, []Field{celsius10("CATEMP12", "catalyst temperature, bank 1 sensor 2", 0)}, published},
	{0x3F, "catalyst temperature, bank 2 sensor 2", 2, 2, []Field{celsius10("CATEMP22", "catalyst temperature, bank 2 sensor 2", 0)}, published},
}

// wideVoltage is one of $24–$2B: lambda and voltage of a wide-range oxygen sensor.
func wideVoltage(id byte, number int) PID {
	n := string(rune('0' + number))
	return PID{id, "wide-range oxygen sensor " + n + " lambda and voltage", 4, 4, []Field{
		lambda(Signal("O2S_LV"+n), "wide-range oxygen sensor "+n+" lambda", 0),
		u16(Signal("O2S_WV"+n), "wide-range oxygen sensor "+n+" voltage", "V", 2, 8, 65536, 0, 0, 65535*8./65536),
	}, published}
}

// wideCurrent is one of $34–$3B: lambda and pump current of a wide-range oxygen sensor.
func wideCurrent(id byte, number int) PID {
	n := string(rune('0' + number))
	return PID{id, "wide-range oxygen sensor " + n + " lambda and current", 4, 4, []Field{
		lambda(Signal("O2S_LC"+n), "wide-range oxygen sensor "+n+" lambda", 0),
		u16(Signal("O2S_WC"+n), "wide-range oxygen sensor "+n+" current", "mA", 2, 1, 256, -128, -128, 127.99609375),
	}, published}
}
