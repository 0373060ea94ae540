// Package report makes the papers of a case: one before the work, one after it. It is pure: evidence
// goes in, a paper comes out as values, and the paper becomes HTML or text. The HTML is one file
// without a script that fetches nothing; html/template escapes every text in it.
//
// A paper says no more than the evidence. What a drive could not show is on the front page.
package report
