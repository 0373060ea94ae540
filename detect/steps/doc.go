// Package steps recognises what a driver did, or the car did by itself, that separates one cause of
// a shake from another: the clutch was released, the car coasted in neutral, ran in a lower gear at
// the same road speed, and so on. It is given the readings of a drive in order of time and reads no
// clock, so that a recording of any age gives what the drive gave.
//
// The tests are those of makers' manuals and of the trade: a touch of the brake releases the clutch,
// and engine speed rises (service manuals of 1995 and 1998); a coast in neutral parts the engine from
// the wheels, a lower gear moves engine speed alone (service manual, road testing, and of 2000).
//
// A release is a change of the level of engine speed of 80 rpm and more, beyond what road speed
// explains, within 1.5 s, with throttle or pedal within 3 %; below about 4 readings a second none is
// called. A clutch that shudders slips more than one that holds, so the level before is the lowest of
// the last seconds. Where the car reports its gear, that decides between a release and a lower gear;
// else the size of the change and the ratios driven before do.
//
// What a step did to the swing of engine speed is measured on both sides of it: the r.m.s. about a
// parabola, as the peak to peak of a wave of that r.m.s.
package steps
