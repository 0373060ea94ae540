package pids

// rows80 is $80–$9F. Records whose layout is not public in full have no fields and are
// shown raw.
var rows80 = []PID{
	{0x80, "PIDs supported $81–$A0", 4, 4, nil, published},
	{0x81, "run time of auxiliary emission control devices 1–5", 21, 41, nil, lengthOf},
	{0x82, "run time of auxiliary emission control devices 6–10", 21, 41, nil, lengthOf},
	{0x83, "NOx sensors", 5, 9, nil, lengthOf},
	{0x84, "manifold surface temperature", 1, 1, []Field{celsius("MST", "manifold surface temperature", 0)}, published},
	{0x85, "NOx reagent system", 10, 10, nil, lengthOf},
	{0x86, "particulate sensors", 5, 5, nil, lengthOf},
	{0x87, "intake manifold absolute pressure, sensors A and B", 5, 5, []Field{
		pressure32("MAP_A", "intake manifold absolute pressure A", 1).when(0),
		pressure32("MAP_B", "intake manifold absolute pressure B", 3).when(1),
	}, mixed},
	{0x88, "SCR inducement system", 13, 13, nil, lengthOf},
	{0x89, "run time of auxiliary emission control devices 11–15", 41, 41, nil, lengthOf},
	{0x8A, "run time of auxiliary emission control devices 16–20", 41, 41, nil, lengthOf},
	{0x8B, "Diesel aftertreatment", 7, 7, nil, lengthOf},
	{0x8C, "wide-range oxygen sensors", 16, 17, nil, lengthOf},
	{0x8D, "absolute throttle position G", 1, 1, []Field{percent("TP_G", "absolute throttle position G", 0)}, published},
	{0x8E, "engine friction torque", 1, 1, []Field{torque("TQ_FR", "engine friction torque", 0)}, published},
	{0x8F, "particulate sensor output", 5, 7, nil, lengthOf},
	{0x90, "world-wide harmonized OBD, vehicle", 3, 3, nil, lengthOf},
	{0x91, "world-wide harmonized OBD, ECU", 5, 5, nil, lengthOf},
	{0x92, "fuel system control", 2, 2, nil, lengthOf},
	{0x93, "world-wide harmonized OBD, counters", 3, 3, nil, lengthOf},
	{0x94, "NOx warning and inducement", 12, 12, nil, lengthOf},
	{0x95, "not assigned", 0, 0, nil, reserved},
	{0x96, "not assigned", 0, 0, nil, reserved},
	{0x97, "not assigned", 0, 0, nil, reserved},
	exhaust(0x98, "1", 5), exhaust(0x99, "2", 5),
	{0x9A, "hybrid or electric vehicle system", 6, 6, nil, lengthOf},
	{0x9B, "diesel exhaust fluid sensor", 4, 4, []Field{percent("DEF_LVL", "diesel exhaust fluid level", 3)}, published},
	{0x9C, "oxygen sensor data", 17, 17, nil, lengthOf},
	// Scale from memory.
	{0x9D, "engine and vehicle fuel rate", 4, 4, []Field{
		u16("ENG_FUEL_RATE", "engine fuel rate, mass", "g/s", 0, 1, 50, 0, 0, 1310.7),
		u16("VEH_FUEL_RATE", "vehicle fuel rate, mass", "g/s", 2, 1, 50, 0, 0, 1310.7),
	}, mixed},
	{0x9E, "exhaust flow", 2, 2, []Field{u16("EXH_RATE", "exhaust flow", "kg/h", 0, 1, 5, 0, 0, 13107)}, mixed},
	{0x9F, "use of the fuel systems", 9, 9, nil, lengthOf},
}
