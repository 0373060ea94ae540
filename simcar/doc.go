// Package simcar is a simulated car behind a simulated ELM327-style adapter. It speaks
// bytes on anything that reads and writes: a pipe, a TCP connection, a pseudo-terminal.
//
// It is built apart from the reading side on purpose. It has its own encoders and imports
// nothing of the reader, so that a mistake made once cannot hide by being made twice.
//
// The parts, from the host's side to the car's:
//
//	conn ⇄ dialogue (bytes, echo, prompt) ─▶ commands (the AT table)
//	                                     └▶ exchange (one request on the bus)
//	                                           ├▶ can, kline, j1850: frames and check bytes
//	                                           └▶ ECU: services ─▶ encode (the PID table) ◀─ Car
//
// EngineECU, TransmissionECU and SuccessorECU answer requests to all ECUs; a ModuleECU must be
// asked by its own address. A Profile gives the adapter the faults of a cheap one; a Fault makes
// something go wrong; a Refusal makes an ECU say no, or wait. The Sim counts what reached the car
// (Asked, ClearAttempts, WriteAttempts), so that a test can show that a reader only reads.
//
// Traffic is what ECUs put on the bus unasked: AT MA shows it, and so does a filter set too wide. What
// the adapter puts on the bus is listed by Transmissions.
//
// Time is drive time: it starts with the first Serve and runs on package time's clock, so
// that the whole of it works under testing/synctest.
package simcar
