package pids

// rows40 is $40–$5F.
var rows40 = []PID{
	{0x40, "PIDs supported $41–$60", 4, 4, nil, published},
	{0x41, "monitor status this drive cycle", 4, 4, nil, published},
	{0x42, "control module voltage", 2, 2, []Field{u16(VPWR, "control module voltage", "V", 0, 1, 1000, 0, 0, 65.535)}, published},
	{0x43, "absolute load", 2, 2, []Field{u16(LoadAbs, "absolute load", "%", 0, 100, 255, 0, 0, 25700)}, published},
	{0x44, "commanded lambda", 2, 2, []Field{lambda("LAMBDA", "commanded lambda", 0)}, published},
	{0x45, "relative throttle position", 1, 1, []Field{percent(TPR, "relative throttle position", 0)}, published},
	{0x46, "ambient air temperature", 1, 1, []Field{celsius("AAT", "ambient air temperature", 0)}, published},
	{0x47, "absolute throttle position B", 1, 1, []Field{percent("TP_B", "absolute throttle position B", 0)}, published},
	{0x48, "absolute throttle position C", 1, 1, []Field{percent("TP_C", "absolute throttle position C", 0)}, published},
	{0x49, "accelerator pedal position D", 1, 1, []Field{percent(APPD, "accelerator pedal position D", 0)}, published},
	{0x4A, "accelerator pedal position E", 1, 1, []Field{percent("APP_E", "accelerator pedal position E", 0)}, published},
	{0x4B, "accelerator pedal position F", 1, 1, []Field{percent("APP_F", "accelerator pedal position F", 0)}, published},
	{0x4C, "commanded throttle actuator", 1, 1, []Field{percent("TAC_PCT", "commanded throttle actuator", 0)}, published},
	{0x4D, "time run with the lamp on", 2, 2, []Field{u16("MIL_TIME", "time run with the lamp on", "min", 0, 1, 1, 0, 0, 65535)}, published},
	{0x4E, "time since codes were cleared", 2, 2, []Field{u16("CLR_TIME", "time since codes were cleared", "min", 0, 1, 1, 0, 0, 65535)}, published},
	{0x4F, "maximum values: lambda, oxygen sensor, manifold pressure", 4, 4, []Field{
		u8("LAMBDA_MAX", "maximum of lambda", "", 0, 1, 1, 0, 0, 255),
		u8("O2S_V_MAX", "maximum of oxygen sensor voltage", "V", 1, 1, 1, 0, 0, 255),
		u8("O2S_C_MAX", "maximum of oxygen sensor current", "mA", 2, 1, 1, 0, 0, 255),
		u8("MAP_MAX", "maximum of intake manifold absolute pressure", "kPa", 3, 10, 1, 0, 0, 2550),
	}, published},
	{0x50, "maximum of mass air flow", 4, 4, []Field{u8("MAF_MAX", "maximum of mass air flow", "g/s", 0, 10, 1, 0, 0, 2550)}, published},
	{0x51, "fuel now in use", 1, 1, []Field{state("FUEL_TYP", "fuel now in use", 0, fuelStates)}, published},
	{0x52, "ethanol in the fuel", 1, 1, []Field{percent("ALCH_PCT", "ethanol in the fuel", 0)}, published},
	{0x53, "absolute evaporative system vapour pressure", 2, 2, []Field{u16("EVAP_VPA", "absolute evaporative system vapour pressure", "kPa", 0, 1, 200, 0, 0, 327.675)}, published},
	// A later edition moved the offset (from memory): take the sign with care.
	{0x54, "evaporative system vapour pressure, wide range", 2, 2, []Field{s16("EVAP_VPW", "evaporative system vapour pressure, wide range", "Pa", 0, 1, 1, -32768, 32767)}, published},
	{0x55, "short-term secondary oxygen trim, banks 1 and 3", 1, 2, []Field{
		trim("STSO2FT1", "short-term secondary oxygen trim bank 1", 0), trim("STSO2FT3", "short-term secondary oxygen trim bank 3", 1),
	}, mixed},
	{0x56, "long-term secondary oxygen trim, banks 1 and 3", 1, 2, []Field{
		trim("LGSO2FT1", "long-term secondary oxygen trim bank 1", 0), trim("LGSO2FT3", "long-term secondary oxygen trim bank 3", 1),
	}, mixed},
	{0x57, "short-term secondary oxygen trim, banks 2 and 4", 1, 2, []Field{
		trim("STSO2FT2", "short-term secondary oxygen trim bank 2", 0), trim("STSO2FT4", "short-term secondary oxygen trim bank 4", 1),
	}, mixed},
	{0x58, "long-term secondary oxygen trim, banks 2 and 4", 1, 2, []Field{
		trim("LGSO2FT2", "long-term secondary oxygen trim bank 2", 0), trim("LGSO2FT4", "long-term secondary oxygen trim bank 4", 1),
	}, mixed},
	{0x59, "fuel rail absolute pressure", 2, 2, []Field{u16("FRP_ABS", "fuel rail absolute pressure", "kPa", 0, 10, 1, 0, 0, 655350)}, published},
	{0x5A, "relative accelerator pedal position", 1, 1, []Field{percent(APPR, "relative accelerator pedal position", 0)}, published},
	{0x5B, "hybrid battery pack remaining charge", 1, 1, []Field{percent("BAT_PWR", "hybrid battery pack remaining charge", 0)}, published},
	// The formula reaches 215; the published maximum is 210, codes $FB–$FF are not data.
	{0x5C, "engine oil temperature", 1, 1, []Field{celsius("EOT", "engine oil temperature", 0).upTo(0xFA, 210)}, published},
	{0x5D, "fuel injection timing", 2, 2, []Field{u16("FUEL_TIMING", "fuel injection timing", "°", 0, 1, 128, -210, -210, 301.9921875)}, published},
	// The published maximum is that of $FAFF; codes above are not data.
	{0x5E, "engine fuel rate", 2, 2, []Field{u16("FUEL_RATE", "engine fuel rate", "L/h", 0, 1, 20, 0, 0, 3276.75).upTo(0xFAFF, 3212.75)}, published},
	{0x5F, "emission requirements designed for", 1, 1, []Field{state("EMIS_SUP", "emission requirements designed for", 0, emissionStates)}, published},
}
