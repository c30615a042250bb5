# Planning of studies as R has it, one line each: figure, arguments, value.
# Usage: Rscript plan.R > fixtures/r/plan.csv
number <- function(value) trimws(formatC(as.numeric(value), digits = 17, format = "g"))
line <- function(...) cat(paste(..., sep = ","), "\n", sep = "")
cat("#", R.version.string, "\n")
cat("figure,design,subjects,at,deviation,ratios,value\n")

# deviation: of the differences of pairs, or of the values of each group; natural logarithms. at: the ratio.
for (n in c(3, 4, 6, 8, 12, 20, 40)) for (ratio in c(1.25, 0.5, 3)) for (deviation in c(0.3, 0.9)) for (ratios in c(1, 3)) {
  for (design in c("crossed", "separate")) {
    type <- if (design == "crossed") "paired" else "two.sample"
    power <- power.t.test(n, abs(log(ratio)), deviation, 0.05 / ratios, type = type, strict = TRUE)$power
    line("power", design, n, ratio, deviation, ratios, number(power))
    df <- if (design == "crossed") n - 1 else 2 * n - 2
    error <- deviation * sqrt((if (design == "crossed") 1 else 2) / n)
    reach <- qt(1 - 0.05 / (2 * ratios), df) * error
    line("halfWidth", design, n, ratio, deviation, ratios, number(exp(reach)))
    line("likelyHalfWidth", design, n, ratio, deviation, ratios, number(exp(reach * sqrt(qchisq(0.8, df) / df))))
  }
}
# Chance that the tolerance limit (0.8, 0.9) of n values lies below a limit; at: limit over geometric mean.
for (n in c(3, 6, 10, 30)) for (at in c(0.8, 2, 5)) for (deviation in c(0.3, 0.9)) {
  k <- qt(0.9, n - 1, qnorm(0.8) * sqrt(n)) / sqrt(n)
  chance <- pt(k * sqrt(n), n - 1, sqrt(n) * log(at) / deviation, lower.tail = FALSE)
  line("belowLimit", "separate", n, at, deviation, 1, number(chance))
}
# Fewest values that prove a share with so many failures; at: the share, deviation: the confidence.
for (at in c(0.5, 0.8, 0.9, 0.95)) for (confidence in c(0.8, 0.9, 0.95)) for (failures in 0:2) {
  n <- failures + 1
  while (binom.test(n - failures, n, alternative = "greater", conf.level = confidence)$conf.int[1] < at - 1e-12) n <- n + 1
  line("forShare", "separate", failures, at, confidence, 1, n)
}
