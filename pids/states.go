package pids

// States of the enumerated PIDs. Codes from the encyclopaedia article "OBD-II PIDs"; the
// texts are ours.
var (
	// One bit at most is set; 0 when there is no such system or it is off.
	fuelSystemStates = []State{
		{0, "engine off or no such system"},
		{1, "open loop, engine not yet warm"},
		{2, "closed loop"},
		{4, "open loop by driving (high load or fuel cut)"},
		{8, "open loop because of a fault"},
		{16, "closed loop, with a sensor fault"},
	}

	secondaryAirStates = []State{
		{1, "upstream of the catalyst"},
		{2, "downstream of the catalyst"},
		{4, "to the outside, or off"},
		{8, "on for diagnosis"},
	}

	requirementStates = []State{
		{1, "OBD II (California)"}, {2, "OBD (US EPA)"}, {3, "OBD and OBD II"}, {4, "OBD I"}, {5, "none"},
		{6, "EOBD (Europe)"}, {7, "EOBD and OBD II"}, {8, "EOBD and OBD"}, {9, "EOBD, OBD and OBD II"},
		{10, "JOBD (Japan)"}, {11, "JOBD and OBD II"}, {12, "JOBD and EOBD"}, {13, "JOBD, EOBD and OBD II"},
		{17, "engine manufacturer diagnostics"}, {18, "engine manufacturer diagnostics, enhanced"},
		{19, "heavy-duty OBD, in part"}, {20, "heavy-duty OBD"}, {21, "world-wide harmonized OBD"},
		{23, "heavy-duty EOBD stage I"}, {24, "heavy-duty EOBD stage I with NOx control"},
		{25, "heavy-duty EOBD stage II"}, {26, "heavy-duty EOBD stage II with NOx control"},
		{28, "OBD Brazil phase 1"}, {29, "OBD Brazil phase 2"}, {30, "KOBD (Korea)"},
		{31, "IOBD I (India)"}, {32, "IOBD II (India)"}, {33, "heavy-duty EOBD stage VI"},
		{34, "OBD, OBD II and heavy-duty OBD"}, {35, "OBD Brazil phase 3"},
	}

	fuelStates = []State{
		{0, "not available"}, {1, "gasoline"}, {2, "methanol"}, {3, "ethanol"}, {4, "diesel"}, {5, "LPG"},
		{6, "CNG"}, {7, "propane"}, {8, "electric"},
		{9, "bifuel, on gasoline"}, {10, "bifuel, on methanol"}, {11, "bifuel, on ethanol"}, {12, "bifuel, on LPG"},
		{13, "bifuel, on CNG"}, {14, "bifuel, on propane"}, {15, "bifuel, on electricity"},
		{16, "bifuel, on electricity and engine"},
		{17, "hybrid gasoline"}, {18, "hybrid ethanol"}, {19, "hybrid diesel"}, {20, "hybrid electric"},
		{21, "hybrid, electricity and engine"}, {22, "hybrid, regenerating"}, {23, "bifuel, on diesel"},
	}

	emissionStates = []State{
		{0x0E, "heavy-duty Euro IV B1"}, {0x0F, "heavy-duty Euro V B2"}, {0x10, "heavy-duty Euro EEV C"},
	}

	offOnStates = []State{{0, "off"}, {1, "on"}}

	// From memory of SAE J1979-DA.
	driveStates = []State{{0, "park or neutral"}, {1, "drive or reverse"}}
	gearStates  = []State{{0, "neutral or clutch down"}, {1, "in gear"}}
)
