# Quantiles and distribution functions as R has them, one line each: name, probability or value, parameters, result.
# Usage: Rscript distributions.R > fixtures/r/distributions.csv
# The first line names the version of R. The tests of the always tier read the recorded file;
# the landing tier runs this again.
number <- function(value) formatC(as.numeric(value), digits = 17, format = "g")
line <- function(name, at, first, second, result) {
  cat(paste(name, number(at), number(first), number(second), number(result), sep = ","), "\n", sep = "")
}

cat("#", R.version.string, "\n")
cat("function,at,first,second,result\n")
probabilities <- c(1e-6, 0.001, 0.01, 0.025, 0.05, 0.1, 0.3, 0.5, 0.75, 0.9, 0.95, 0.975, 0.99, 0.999)
for (p in probabilities) {
  line("normalQuantile", p, NA, NA, qnorm(p))
  for (df in c(0.7, 1, 2, 3, 4.5, 5, 9, 16, 16.7646, 30, 100, 1e4)) line("studentQuantile", p, df, NA, qt(p, df))
  for (df in c(1, 2, 3.5, 5, 8, 20, 42, 120)) line("chiSquareQuantile", p, df, NA, qchisq(p, df))
  for (above in c(1, 2, 4, 8, 30)) for (below in c(1, 3, 7.5, 20, 180, 1800)) {
    line("fQuantile", p, above, below, qf(p, above, below))
  }
  for (shapes in list(c(8, 3), c(9, 2), c(82, 9), c(46, 5), c(0.5, 0.5), c(1, 2), c(2, 30), c(10, 1))) {
    line("betaQuantile", p, shapes[1], shapes[2], qbeta(p, shapes[1], shapes[2]))
  }
}
for (p in c(0.01, 0.1, 0.5, 0.9, 0.95, 0.99)) {
  for (df in c(2, 9, 14.5, 89)) for (delta in c(-3, 0, 0.5, qnorm(0.9) * sqrt(10), 10, 30)) {
    line("noncentralStudentQuantile", p, df, delta, qt(p, df, delta))
  }
}
for (value in c(-4, -1.5, -0.2, 0, 0.3, 1, 2, 5, 12)) {
  line("normalProbability", value, NA, NA, pnorm(value))
  for (df in c(1, 2.5, 9, 30)) line("studentProbability", value, df, NA, pt(value, df))
  if (value > 0) for (df in c(4, 20)) line("fProbability", value, df, 20, pf(value, df, 20))
  for (df in c(3, 9, 42)) for (delta in c(-2, 0.5, 4, 12)) {
    line("noncentralStudentProbability", value, df, delta, pt(value, df, delta))
  }
}
