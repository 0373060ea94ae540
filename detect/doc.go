// Package detect looks for shudder: engine speed that swings at a steady throttle. It decides
// which seconds of a drive may be judged, how large the swings are against this car's own
// scatter, and what that shows. It never reads a clock; time comes with the samples.
//
// The method, with the standard numbers; their sources are in thresholds.go, and detect/bench
// measures what they are worth. n is engine speed, v road speed, ln the natural logarithm.
//
// # Which seconds are judged
//
// Five times a second, the detector looks at the readings of the last 3 s. It judges them when
//
//   - the engine runs (400 rpm), for 5 s since a start, a stop or a gap of the link,
//   - the window holds at least 8 readings,
//   - road speed is 30 to 115 km/h, and within 3 km/h for 2 s,
//   - driver demand (throttle, else pedal) is not at rest, and within 5 % for 1.5 s,
//   - coolant, where read, is at least 49 °C,
//   - ln(n/v) moved by less than 0.10 in 1 s: no step of gear or lock-up.
//
// Else the first condition that fails is the [Reason]. A window begins no earlier than 0.5 s
// before the last look at which demand moved or the ratio stepped: the driveline rings after it.
//
// # Swing and limit
//
// The swing S is the k-th largest move from one extreme to the next in a window without its
// least-squares line: k = 4 in 3 s, k = 3 in 1.8 s, the larger of both.
//
// The scatter σ is what this car's engine speed does by itself. A reading i with neighbours a and
// b, at least 0.17 s away on either side, gives
//
//	u = (tᵢ − tₐ) / (t_b − tₐ)
//	q = |nᵢ − (1−u)·nₐ − u·n_b| / √(1 + u² + (1−u)²)
//	σ = 1.4826 · median q
//
// σ is the lower of two: over 75 s of driving, and over 600 s below 30 km/h. It is learnt while
// neither speed nor demand moves, and not around an alarm. The limit is
//
//	L = max(50 rpm, 6·σ, 2.5·U)
//
// U being the median S of quiet cruise; 1.5 times that where no demand is read. L above 250 rpm
// is [ScatterTooLarge]. The smallest swing that would be found is 1.3·L/g(N): g is the share of a
// wave that N readings show, from a table.
//
// # Evidence for a wave
//
// From S = 0.8·L on, waves are fitted by least squares, on the true times, to windows of 1.2, 1.8
// and up to 4.5 s (longer at low rates):
//
//	n(t) ≈ a + b·t + c·t² + A·cos 2πft + B·sin 2πft
//
// f is 0.9 to 6.5 Hz, with at least 1.8 periods in the window. In the longest window A and B may
// drift; a second harmonic is tried last. The wave explains the share p of the sum of squares Q.
// The best other explanation, p′, is a wave of 0.2 to 0.7 Hz, or one to three steps. Of N
// readings over T seconds, with c columns in the fit, the evidence is
//
//	E = (m + 6)/2 · ln((Q·(1−p′) + P) / (Q·(1−p) + P)) − ln(N/2) − 15·max(0, ln(r/f′)) − 1.5
//	m = min(N, 1 + T/0.1 s) − c       readings that are independent
//	P = 6·(3.5·σ)²                    σ counts as six readings
//	r = rate/4, 1.5 to 2 Hz           below it a wave is slow, as most of what a healthy car does
//
// f′ is the slowest frequency that looks like f at this rate of readings. A second and a third
// step cost 2 each; the last term is for drift or harmonic only. The short window adds 0.8 times
// the evidence of the one before it. The evidence wanted is
//
//	4 − 8·clamp(ln(W/L), −1, 0.7) + 5·max(0, ln(R/√((1.5·σ)² + (0.12·W)²)))
//
// for a wave of W rpm peak to peak that leaves R rpm r.m.s.; 7 instead of 4 under load, where a
// misfire may be the cause; a wave below 2.7 Hz gains nothing from being above L. For a wave
// slower than half the rate of readings, L is multiplied by |sin(πfτ)/(πfτ)|, τ = 0.06 s: the ECU
// averages.
//
// # Alarm, event, verdict
//
// There is an alarm when two looks in a row have E ≥ 1.5 and S ≥ 0.9·L, and one of them has the
// wanted evidence, S > L, both S and W below 250 rpm, and swings that last 0.35 s; one look is
// enough when it has E > 6. The low-rate rule needs no wave: below 7 readings a second, and not
// under load, four looks in a row with S > 1.3·L, where slow waves and steps leave most of it.
// Looks less than 2.5 s apart are one [Event].
//
// Slow swings, scatter without a wave, and repeated steps of the ratio are an [Observation]. "No
// shudder" needs 30 s judged at 9 readings a second, in three stretches, and a smallest swing of
// 100 rpm or less in half of the judged time.
//
// # Slip
//
// [Apparent] estimates the slip of the converter clutch, n − v·e^x: x is the lowest ln(n/v) that
// was held in the gear. [SlipWatch] judges slip, read or estimated, in the seconds that are
// judged: it swings by 40 rpm plus twice its uncertainty, with a mean of at most 150 rpm.
package detect
