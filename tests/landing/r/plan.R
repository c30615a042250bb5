# Planning of studies as R has it, one line each: figure, arguments, value.
# Usage: Rscript plan.R > fixtures/r/plan.csv
number <- function(value) trimws(formatC(as.numeric(value), digits = 17, format = "g"))
line <- function(...) cat(paste(..., sep = ","), "\n", sep = "")
cat("#", R.version.string, "\n")
cat("figure,design,subjects,at,deviation,ratios,value\n")

# Mean of a figure over the degrees of freedom that Welch's test finds in two groups of equal size and true scatter.
welch_mean <- function(n, of, ratios) {
  at <- function(b) {
    crit <- qt(1 - 0.05 / (2 * ratios), (n - 1) / (b^2 + (1 - b)^2))
    dbeta(b, (n - 1) / 2, (n - 1) / 2) * of(crit)
  }
  # Substituted so that nothing is steep at the ends.
  2 * integrate(function(x) at(0.5 + 0.5 * sin(x)) * 0.5 * cos(x), 0, pi / 2, rel.tol = 1e-12, subdivisions = 500)$value
}
# deviation: of the differences of pairs, or of the values of each group; natural logarithms. at: the ratio.
for (n in c(3, 4, 6, 8, 12, 20, 40)) for (ratio in c(1.25, 0.5, 3)) for (deviation in c(0.3, 0.9)) for (ratios in c(1, 3)) {
  for (design in c("crossed", "separate")) {
    df <- if (design == "crossed") n - 1 else 2 * n - 2
    error <- deviation * sqrt((if (design == "crossed") 1 else 2) / n)
    reach <- qt(1 - 0.05 / (2 * ratios), df) * error
    power <- if (design == "crossed")
      power.t.test(n, abs(log(ratio)), deviation, 0.05 / ratios, type = "paired", strict = TRUE)$power else
      welch_mean(n, function(crit) pt(crit, df, abs(log(ratio)) / error, lower.tail = FALSE) +
        pt(-crit, df, abs(log(ratio)) / error), ratios)
    wide <- if (design == "crossed") reach * sqrt(qchisq(0.8, df) / df) else
      error * uniroot(function(x) welch_mean(n, function(crit) pchisq(df * (x / crit)^2, df), ratios) - 0.8,
        c(0.1, 100), tol = 1e-13)$root
    line("power", design, n, ratio, deviation, ratios, number(power))
    line("halfWidth", design, n, ratio, deviation, ratios, number(exp(reach)))
    line("likelyHalfWidth", design, n, ratio, deviation, ratios, number(exp(wide)))
  }
}
# Chance that the tolerance limit (0.8, 0.9) of n values lies below a limit; at: limit over geometric mean.
for (n in c(3, 6, 10, 30)) for (at in c(0.8, 2, 5)) for (deviation in c(0.3, 0.9)) {
  k <- qt(0.9, n - 1, qnorm(0.8) * sqrt(n)) / sqrt(n)
  chance <- pt(k * sqrt(n), n - 1, sqrt(n) * log(at) / deviation, lower.tail = FALSE)
  line("belowLimit", "separate", n, at, deviation, 1, number(chance))
}
# The same of coverages for which the noncentralities are large; beyond 37.6, where pt ends, from the definition.
above <- function(crit, df, delta) {
  if (delta <= 37.6) return(pt(crit, df, delta, lower.tail = FALSE))
  integrate(function(p) pnorm(delta - crit * sqrt(qchisq(p, df) / df)), 0, 1, rel.tol = 1e-11, subdivisions = 2000)$value
}
for (coverage in c(0.95, 0.99)) for (n in c(6, 15, 60, 261)) for (at in c(8, 20)) for (deviation in c(0.4, 0.8)) {
  k <- qt(0.9, n - 1, qnorm(coverage) * sqrt(n)) / sqrt(n)
  figure <- paste0("belowLimit", 100 * coverage)
  line(figure, "separate", n, at, deviation, 1, number(above(k * sqrt(n), n - 1, sqrt(n) * log(at) / deviation)))
}
# Fewest values that prove a share with so many failures; at: the share, deviation: the confidence.
for (at in c(0.5, 0.8, 0.9, 0.95)) for (confidence in c(0.8, 0.9, 0.95)) for (failures in 0:2) {
  n <- failures + 1
  while (binom.test(n - failures, n, alternative = "greater", conf.level = confidence)$conf.int[1] < at - 1e-12) n <- n + 1
  line("forShare", "separate", failures, at, confidence, 1, n)
}
