package pids

// rows60 is $60–$77. From $64 on, most records begin with a byte of support bits: which
// of their fields carry data.
var rows60 = []PID{
	{0x60, "PIDs supported $61–$80", 4, 4, nil, published},
	{0x61, "driver's demand engine torque", 1, 1, []Field{torque("TQ_DD", "driver's demand engine torque", 0)}, published},
	{0x62, "actual engine torque", 1, 1, []Field{torque("TQ_ACT", "actual engine torque", 0)}, published},
	{0x63, "engine reference torque", 2, 2, []Field{u16("TQ_REF", "engine reference torque", "N·m", 0, 1, 1, 0, 0, 65535)}, published},
	{0x64, "engine torque at five points", 5, 5, []Field{
		torque("TQ_MAX1", "engine torque at idle", 0), torque("TQ_MAX2", "engine torque at point 1", 1),
		torque("TQ_MAX3", "engine torque at point 2", 2), torque("TQ_MAX4", "engine torque at point 3", 3),
		torque("TQ_MAX5", "engine torque at point 4", 4),
	}, published},
	// Order of the bits and meaning of the states from memory.
	{0x65, "auxiliary inputs and outputs", 2, 2, []Field{
		bits("AUX_PTO", "power take-off", 1, 1, 0, offOnStates).when(0),
		bits("N/D_STAT", "automatic transmission neutral or drive", 1, 1, 1, driveStates).when(1),
		bits("N/G_STAT", "manual transmission neutral or gear", 1, 1, 2, gearStates).when(2),
		bits("GPL_STAT", "glow-plug lamp", 1, 1, 3, offOnStates).when(3),
	}, mixed},
	{0x66, "mass air flow, sensors A and B", 5, 5, []Field{
		u16("MAFA", "mass air flow A", "g/s", 1, 1, 32, 0, 0, 2047.96875).when(0),
		u16("MAFB", "mass air flow B", "g/s", 3, 1, 32, 0, 0, 2047.96875).when(1),
	}, published},
	{0x67, "engine coolant temperature, sensors 1 and 2", 3, 3, []Field{
		celsius("ECT1", "engine coolant temperature 1", 1).when(0), celsius("ECT2", "engine coolant temperature 2", 2).when(1),
	}, published},
	// The encyclopaedia has 3 bytes and two sensors, Scapy 7 and six.
	{0x68, "intake air temperature, up to six sensors", 3, 7, []Field{
		celsius("IAT11", "intake air temperature, bank 1 sensor 1", 1).when(0),
		celsius("IAT12", "intake air temperature, bank 1 sensor 2", 2).when(1),
		celsius("IAT13", "intake air temperature, bank 1 sensor 3", 3).when(2),
		celsius("IAT21", "intake air temperature, bank 2 sensor 1", 4).when(3),
		celsius("IAT22", "intake air temperature, bank 2 sensor 2", 5).when(4),
		celsius("IAT23", "intake air temperature, bank 2 sensor 3", 6).when(5),
	}, layout},
	{0x69, "EGR, commanded, actual and error", 7, 7, []Field{
		percent("EGR_A_CMD", "commanded EGR A", 1).when(0), percent("EGR_A_ACT", "actual EGR A", 2).when(1), trim("EGR_A_ERR", "EGR A error", 3).when(2),
		percent("EGR_B_CMD", "commanded EGR B", 4).when(3), percent("EGR_B_ACT", "actual EGR B", 5).when(4), trim("EGR_B_ERR", "EGR B error", 6).when(5),
	}, layout},
	{0x6A, "Diesel intake air flow control", 5, 5, []Field{
		percent("IAF_A_CMD", "commanded intake air flow A", 1).when(0), percent("IAF_A_REL", "relative intake air flow position A", 2).when(1),
		percent("IAF_B_CMD", "commanded intake air flow B", 3).when(2), percent("IAF_B_REL", "relative intake air flow position B", 4).when(3),
	}, layout},
	// A later edition sets a support bit A4–A7 for sensors in steps of 4 °C (from memory):
	// those give nothing here.
	{0x6B, "EGR temperature", 5, 5, []Field{
		celsius("EGRT11", "EGR temperature, bank 1 sensor 1", 1).when(0), celsius("EGRT12", "EGR temperature, bank 1 sensor 2", 2).when(1),
		celsius("EGRT21", "EGR temperature, bank 2 sensor 1", 3).when(2), celsius("EGRT22", "EGR temperature, bank 2 sensor 2", 4).when(3),
	}, layout},
	{0x6C, "throttle actuators, commanded and relative position", 5, 5, []Field{
		percent("TAC_A_CMD", "commanded throttle actuator A", 1).when(0), percent("TP_A_REL", "relative throttle position A", 2).when(1),
		percent("TAC_B_CMD", "commanded throttle actuator B", 3).when(2), percent("TP_B_REL", "relative throttle position B", 4).when(3),
	}, layout},
	// Scapy, after an older edition, stops after the first rail.
	{0x6D, "fuel pressure control", 6, 11, []Field{
		pressure10("FRP_A_CMD", "commanded fuel rail pressure A", 1).when(0), pressure10("FRP_A", "fuel rail pressure A", 3).when(1), celsius("FRT_A", "fuel rail temperature A", 5).when(2),
		pressure10("FRP_B_CMD", "commanded fuel rail pressure B", 6).when(3), pressure10("FRP_B", "fuel rail pressure B", 8).when(4), celsius("FRT_B", "fuel rail temperature B", 10).when(5),
	}, layout},
	{0x6E, "injection pressure control", 5, 9, []Field{
		pressure10("ICP_A_CMD", "commanded injection control pressure A", 1).when(0), pressure10("ICP_A", "injection control pressure A", 3).when(1),
		pressure10("ICP_B_CMD", "commanded injection control pressure B", 5).when(2), pressure10("ICP_B", "injection control pressure B", 7).when(3),
	}, layout},
	{0x6F, "turbocharger compressor inlet pressure", 3, 3, []Field{
		u8("TCA_CINP", "turbocharger A compressor inlet pressure", "kPa", 1, 1, 1, 0, 0, 255).when(0),
		u8("TCB_CINP", "turbocharger B compressor inlet pressure", "kPa", 2, 1, 1, 0, 0, 255).when(1),
	}, layout},
	// The encyclopaedia's formula divides by 0.03125, which its own maximum contradicts.
	{0x70, "boost pressure control", 9, 10, []Field{
		pressure32("BP_A_CMD", "commanded boost pressure A", 1).when(0), pressure32("BP_A_ACT", "boost pressure A", 3).when(1),
		pressure32("BP_B_CMD", "commanded boost pressure B", 5).when(2), pressure32("BP_B_ACT", "boost pressure B", 7).when(3),
	}, layout},
	{0x71, "variable-geometry turbocharger control", 5, 6, []Field{
		percent("VGT_A_CMD", "commanded variable-geometry position A", 1).when(0), percent("VGT_A_ACT", "variable-geometry position A", 2).when(1),
		percent("VGT_B_CMD", "commanded variable-geometry position B", 3).when(2), percent("VGT_B_ACT", "variable-geometry position B", 4).when(3),
	}, layout},
	{0x72, "wastegate control", 5, 5, []Field{
		percent("WG_A_CMD", "commanded wastegate position A", 1).when(0), percent("WG_A_ACT", "wastegate position A", 2).when(1),
		percent("WG_B_CMD", "commanded wastegate position B", 3).when(2), percent("WG_B_ACT", "wastegate position B", 4).when(3),
	}, layout},
	{0x73, "exhaust pressure", 5, 5, []Field{
		pressure100("EP1", "exhaust pressure bank 1", 1).when(0), pressure100("EP2", "exhaust pressure bank 2", 3).when(1),
	}, layout},
	// Editions differ: 1 rpm or 10 rpm a step. Shown raw.
	{0x74, "turbocharger speed", 5, 5, nil, lengthOf},
	turbo(0x75, "A"), turbo(0x76, "B"),
	{0x77, "charge-air cooler temperature", 5, 5, []Field{
		celsius("CACT11", "charge-air cooler temperature, bank 1 sensor 1", 1).when(0), celsius("CACT12", "charge-air cooler temperature, bank 1 sensor 2", 2).when(1),
		celsius("CACT21", "charge-air cooler temperature, bank 2 sensor 1", 3).when(2), celsius("CACT22", "charge-air cooler temperature, bank 2 sensor 2", 4).when(3),
	}, layout},
}

func turbo(id byte, letter string) PID {
	name, tc := "turbocharger "+letter+" ", "TC"+letter
	return PID{id, name + "temperatures", 7, 7, []Field{
		celsius(Signal(tc+"_CINT"), name+"compressor inlet temperature", 1).when(0),
		celsius(Signal(tc+"_COUTT"), name+"compressor outlet temperature", 2).when(1),
		celsius10(Signal(tc+"_TINT"), name+"turbine inlet temperature", 3).when(2),
		celsius10(Signal(tc+"_TOUTT"), name+"turbine outlet temperature", 5).when(3),
	}, layout}
}

// pressure10 is 10 kPa a step.
func pressure10(s Signal, name string, first int) Field {
	return u16(s, name, "kPa", first, 10, 1, 0, 0, 655350)
}

// pressure32 is 1/32 kPa a step.
func pressure32(s Signal, name string, first int) Field {
	return u16(s, name, "kPa", first, 1, 32, 0, 0, 2047.96875)
}

// pressure100 is 0.01 kPa a step.
func pressure100(s Signal, name string, first int) Field {
	return u16(s, name, "kPa", first, 1, 100, 0, 0, 655.35)
}
