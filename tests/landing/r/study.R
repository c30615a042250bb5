# Statistics of studies as R has them, one line each: set, figure, value.
# Usage: Rscript study.R fixtures/r/study-sets.csv > fixtures/r/study.csv
# The sets come as CSV with the columns set, kind, subject, ensemble, value, below; values are leakages, of which the
# logarithms are taken here. A censored normal distribution is fitted by survreg of the package survival where it is
# there, otherwise by nlminb over the likelihood.
number <- function(value) formatC(as.numeric(value), digits = 17, format = "g")
line <- function(set, figure, value) cat(paste(set, figure, trimws(number(value)), sep = ","), "\n", sep = "")
by_survreg <- requireNamespace("survival", quietly = TRUE)
cat("#", R.version.string, if (by_survreg) paste("survival", packageVersion("survival")) else "nlminb", "\n")
cat("set,figure,value\n")

for (n in c(3, 5, 10, 43, 90, 200)) for (p in c(0.8, 0.9, 0.95)) for (g in c(0.9, 0.95, 0.99)) {
  line(paste("tolerance", n, p, g), "factor", qt(g, n - 1, qnorm(p) * sqrt(n)) / sqrt(n))
}
for (share in list(c(0, 10), c(1, 10), c(5, 6), c(8, 10), c(10, 10), c(46, 50), c(82, 90), c(37, 200))) {
  name <- paste("share", share[1], share[2])
  both <- binom.test(share[1], share[2])$conf.int
  line(name, "low", both[1])
  line(name, "high", both[2])
  line(name, "atLeast", binom.test(share[1], share[2], alternative = "greater")$conf.int[1])
}

censored_fit <- function(name, x, below) {
  if (by_survreg) {
    library(survival)
    fit <- survreg(Surv(x, !below, type = "left") ~ 1, dist = "gaussian",
                   control = survreg.control(rel.tolerance = 1e-14, maxiter = 200))
    line(name, "mean", coef(fit))
    line(name, "deviation", fit$scale)
    line(name, "error", sqrt(vcov(fit)[1, 1]))
    line(name, "likelihood", fit$loglik[2])
  } else {
    minus <- function(at) {
      -sum(dnorm(x[!below], at[1], exp(at[2]), log = TRUE)) - sum(pnorm(x[below], at[1], exp(at[2]), log.p = TRUE))
    }
    fit <- nlminb(c(mean(x[!below]), log(sd(x))), minus, control = list(rel.tol = 1e-15, x.tol = 1e-12))
    line(name, "mean", fit$par[1])
    line(name, "deviation", exp(fit$par[2]))
    line(name, "likelihood", -fit$objective)
  }
}

sets <- read.csv(commandArgs(TRUE)[1], colClasses = c("character", "character", "character", "character", "numeric",
                                                     "numeric"), comment.char = "#")
for (name in unique(sets$set)) {
  own <- sets[sets$set == name, ]
  x <- log(own$value)
  switch(own$kind[1],
    censored = censored_fit(name, x, own$below == 1),
    lognormal = {
      interval <- t.test(x)$conf.int
      line(name, "mean", mean(x))
      line(name, "deviation", sd(x))
      line(name, "low", interval[1])
      line(name, "high", interval[2])
    },
    contrast = {
      # Every pair of ensembles, paired by subject; simultaneous by Bonferroni.
      worn <- unique(own$ensemble)
      pairs <- combn(worn, 2, simplify = FALSE)
      for (pair in pairs) {
        first <- own[own$ensemble == pair[1], ]
        second <- own[own$ensemble == pair[2], ]
        common <- intersect(first$subject, second$subject)
        level <- 1 - 0.05 / length(pairs)
        a <- log(first$value)
        b <- log(second$value)
        test <- if (length(common) == 0) t.test(b, a, conf.level = level) else {
          t.test(b[match(common, second$subject)], a[match(common, first$subject)], paired = TRUE, conf.level = level)
        }
        figure <- paste(pair[1], pair[2])
        mean <- if (length(common) == 0) test$estimate[1] - test$estimate[2] else test$estimate
        line(name, paste(figure, "mean"), mean)
        line(name, paste(figure, "low"), test$conf.int[1])
        line(name, paste(figure, "high"), test$conf.int[2])
        line(name, paste(figure, "probability"), min(1, test$p.value * length(pairs)))
      }
    },
    crossed = {
      subject <- factor(own$subject)
      ensemble <- factor(own$ensemble)
      a <- nlevels(subject)
      b <- nlevels(ensemble)
      repeats <- nrow(own) / a / b
      table <- if (repeats > 1) anova(lm(x ~ subject * ensemble)) else anova(lm(x ~ subject + ensemble))
      ms <- table[["Mean Sq"]]
      df <- table[["Df"]]
      error <- ms[3]
      line(name, "subject", max(0, (ms[1] - error) / (b * repeats)))
      line(name, "ensemble", max(0, (ms[2] - error) / (a * repeats)))
      if (repeats > 1) line(name, "interaction", max(0, (error - ms[4]) / repeats))
      line(name, "trial", ms[length(ms)])
      line(name, "fSubject", ms[1] / error)
      line(name, "fEnsemble", ms[2] / error)
      line(name, "probabilitySubject", pf(ms[1] / error, df[1], df[3], lower.tail = FALSE))
      line(name, "probabilityEnsemble", pf(ms[2] / error, df[2], df[3], lower.tail = FALSE))
    })
}
